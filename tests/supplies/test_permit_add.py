"""Permits of volunteers: at most to the end of the calendar year, for products and land that are named."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.supplies.models import VolunteerPermit
from orders.supplies.permits import permit_add, permit_edit
from tests import build

pytestmark = pytest.mark.django_db


def add(**changed):
    told = {
        "person": build.PersonFactory(person_type="volunteer"),
        "products": [build.ProductFactory(code="herb")],
        "sites": [build.SiteFactory(code="HOLLOW")],
        "trained_by": "P. Supervisor",
        "trained_on": date(2027, 1, 9),
        "first_day": date(2027, 1, 10),
        "last_day": date(2027, 12, 31),
        "stamp": build.stamp(),
    }
    return permit_add(**{**told, **changed})


def test_it_adds_a_permit_with_its_products_and_land():
    row = add(certificate="V-12")
    assert ([one.code for one in row.products.all()], [one.code for one in row.sites.all()]) == (["herb"], ["HOLLOW"])
    change = Change.objects.get(verb="permit_add")
    assert change.after is not None
    assert (change.after["products"], change.after["sites"], change.after["certificate"]) == (
        ["herb"],
        ["HOLLOW"],
        "V-12",
    )


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"last_day": date(2028, 1, 1)}, "last_day"),
        ({"last_day": date(2027, 1, 9)}, "last_day"),
        ({"trained_on": date(2027, 1, 11)}, "first_day"),
        ({"products": []}, "products"),
        ({"sites": []}, "sites"),
        ({"trained_by": ""}, "trained_by"),
    ],
)
def test_it_names_what_is_wrong(changed, field):
    with pytest.raises(Invalid) as refusal:
        add(**changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert not VolunteerPermit.objects.exists()


def test_it_permits_herbicides_alone():
    with pytest.raises(Invalid):
        add(products=[build.ProductFactory(is_herbicide=False)])


def test_it_ends_a_permit_early():
    row = add()
    permit_edit(permit=row, values={"last_day": date(2027, 3, 1)}, expected=1, stamp=build.stamp())
    row.refresh_from_db()
    assert (row.last_day, row.version) == (date(2027, 3, 1), 2)


def test_it_stretches_no_permit_over_the_year():
    with pytest.raises(Invalid):
        permit_edit(permit=add(), values={"last_day": date(2028, 1, 31)}, expected=1, stamp=build.stamp())
