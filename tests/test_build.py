"""The factories of tests/build: each makes a row that its own model finds right."""

import pytest
from factory.django import DjangoModelFactory

from tests import build

FACTORIES = [
    value for value in vars(build).values() if isinstance(value, type) and issubclass(value, DjangoModelFactory)
]


@pytest.mark.django_db
@pytest.mark.parametrize("factory", FACTORIES, ids=lambda factory: factory.__name__)
def test_it_makes_a_row_that_can_be_read_again(factory):
    row = factory()
    assert type(row)._default_manager.get(pk=row.pk) == row
