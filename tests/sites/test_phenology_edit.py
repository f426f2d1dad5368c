"""What is known of a species' year, changed where it is wrong."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.sites.services import species_edit
from tests import build

pytestmark = pytest.mark.django_db
FLOWERS = {
    "flower_first_month": 6,
    "flower_first_day": 5,
    "flower_last_month": 7,
    "flower_last_day": 20,
    "flower_source": "invented",
}


def test_it_keeps_a_range_of_flowering(stamp):
    species = build.SpeciesFactory()
    species_edit(stamp=stamp, species=species, expected=1, values={**FLOWERS, "flower_to_fruit_days": 80})
    species.refresh_from_db()
    assert (species.flower_first_month, species.flower_last_day, species.flower_to_fruit_days) == (6, 20, 80)
    change = Change.objects.get(verb="species_edit")
    assert change.after
    assert change.after["flower_source"] == "invented"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({**FLOWERS, "flower_last_day": None}, "flower_last_day"),
        ({**FLOWERS, "flower_last_month": 2, "flower_last_day": 30}, "flower_last_day"),
        ({**FLOWERS, "flower_source": ""}, "flower_source"),
        ({"phenology_source": ""}, "phenology_source"),
        ({"leaf_drop_month": 12, "leaf_drop_day": 5}, "leaf_drop_source"),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, changed, field):
    species = build.SpeciesFactory()
    with pytest.raises(Invalid) as refusal:
        species_edit(stamp=stamp, species=species, expected=1, values=changed)
    assert field in [error.field for error in refusal.value.errors]
    species.refresh_from_db()
    assert species.version == 1


def test_it_refuses_what_was_changed_since(stamp):
    with pytest.raises(VersionMismatch):
        species_edit(stamp=stamp, species=build.SpeciesFactory(), expected=3, values=FLOWERS)
