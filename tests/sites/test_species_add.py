from typing import Any

import pytest

from orders.common.errors import Invalid
from orders.sites.models import Species
from orders.sites.services import SpeciesYear, species_add

pytestmark = pytest.mark.django_db
FACTS: dict[str, Any] = {
    "code": "EUFO",
    "scientific_name": "Euonymus fortunei",
    "common_name": "wintercreeper",
    "evergreen": True,
    "resprouts": True,
}
YEAR: dict[str, Any] = {"fruit_first": (9, 1), "fruit_last": (11, 30), "phenology_source": "invented"}


def test_it_keeps_the_fruiting_range_by_month_and_day(stamp):
    row = species_add(stamp=stamp, **FACTS, year=SpeciesYear(**YEAR))
    assert (row.fruit_first_month, row.fruit_first_day, row.fruit_last_month, row.fruit_last_day) == (9, 1, 11, 30)


def test_it_takes_a_species_whose_fruiting_is_not_known(stamp):
    row = species_add(stamp=stamp, **FACTS)
    assert row.fruit_first_month is None


def test_it_keeps_flowering_and_a_late_leaf_drop(stamp):
    flowers: dict[str, Any] = {
        "flower_first": (6, 1),
        "flower_last": (7, 15),
        "flower_to_fruit_days": 75,
        "flower_source": "invented",
    }
    year = SpeciesYear(**flowers, leaf_drop=(12, 5), leaf_drop_source="invented")
    row = species_add(stamp=stamp, **FACTS, year=year)
    assert (row.flower_first_month, row.flower_last_day, row.flower_to_fruit_days) == (6, 15, 75)
    assert (row.leaf_drop_month, row.leaf_drop_day) == (12, 5)


def test_it_keeps_whether_pulled_stems_root_again(stamp):
    row = species_add(stamp=stamp, **FACTS | {"pulled_stems_reroot": "yes", "reroot_source": "common practice"})
    assert (row.pulled_stems_reroot, row.reroot_source) == ("yes", "common practice")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"code": "x" * 21}, "code"),
        ({"pulled_stems_reroot": "yes"}, "reroot_source"),
        ({"pulled_stems_reroot": "perhaps", "reroot_source": "invented"}, "pulled_stems_reroot"),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        species_add(stamp=stamp, **FACTS | changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Species.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"fruit_first": (13, 1)}, "fruit_first"),
        ({"fruit_last": (2, 30)}, "fruit_last"),
        ({"fruit_last": None}, "fruit_last"),
        ({"phenology_source": " "}, "phenology_source"),
        ({"flower_first": (6, 1), "flower_source": "invented"}, "flower_last"),
        ({"flower_first": (6, 1), "flower_last": (7, 1)}, "flower_source"),
        ({"flower_to_fruit_days": 60}, "flower_source"),
        ({"flower_to_fruit_days": 400, "flower_source": "invented"}, "flower_to_fruit_days"),
        ({"leaf_drop": (12, 5)}, "leaf_drop_source"),
    ],
)
def test_it_names_the_part_of_the_year_that_is_wrong(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        species_add(stamp=stamp, **FACTS, year=SpeciesYear(**YEAR | changed))
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Species.objects.exists()
