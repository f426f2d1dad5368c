"""Methods come from rows of text; a row that cannot be read is named."""

import pytest

from orders.common.errors import Invalid
from orders.estimates.models import Method
from orders.estimates.services import methods_load
from tests import build
from tests.flow.world import csv_rows

pytestmark = pytest.mark.django_db


def test_it_names_the_row_of_a_method_that_cannot_be_read(stamp):
    rows = csv_rows("methods.csv")
    rows[2] = {**rows[2], "needs_license": "maybe"}
    with pytest.raises(Invalid) as refused:
        methods_load(rows=rows, qualification={}, mix={}, stamp=stamp)
    assert [(error.field, error.row) for error in refused.value.errors] == [("needs_license", 3)]
    assert Method.objects.count() == 0


def test_it_replaces_a_method_that_is_known(stamp):
    build.MethodFactory(code="cut", name="Old")
    methods_load(rows=csv_rows("methods.csv"), qualification={}, mix={}, stamp=stamp)
    assert Method.objects.get(code="cut").name == "cutting"
