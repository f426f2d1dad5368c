import pytest

from orders.common.numbers import number_next

pytestmark = pytest.mark.django_db


def test_it_counts_each_series_by_itself():
    assert [number_next("a"), number_next("a"), number_next("b"), number_next("a")] == [1, 2, 1, 3]
