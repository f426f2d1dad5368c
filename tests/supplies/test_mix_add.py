import pytest

from orders.common.errors import Invalid
from orders.supplies.labels import PartFacts
from orders.supplies.models import Mix
from orders.supplies.services import mix_add
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def herbicide():
    return build.ProductFactory()


def facts(*parts, **changed):
    return {
        "code": "foliar-2",
        "name": "Foliar 2%",
        "tank_l": 15.0,
        "area_basis": "canopy",
        "carrier_l_per_ha": 467.0,
        "parts": parts,
    } | changed


def test_it_keeps_the_parts_in_order(stamp, herbicide):
    dye = build.ProductFactory(is_herbicide=False)
    parts = [
        PartFacts(product=herbicide, part="herbicide", percent_vv=2.0),
        PartFacts(product=dye, part="dye", rate_l_per_ha=0.3),
    ]
    mix = mix_add(stamp=stamp, **facts(*parts))
    assert [(part.product, part.part) for part in mix.parts.all()] == [(herbicide, "herbicide"), (dye, "dye")]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"tank_l": 0}, "tank_l"),
        ({"carrier_l_per_ha": None}, "carrier_l_per_ha"),
        ({"stem_dose_ml_per_cm": 1.0}, "carrier_l_per_ha"),
        ({"carrier_l_per_ha": -1.0}, "carrier_l_per_ha"),
        ({"area_basis": "sky"}, "area_basis"),
        ({"parts": []}, "parts"),
    ],
)
def test_it_names_the_field_that_is_wrong_and_adds_nothing(stamp, herbicide, changed, field):
    part = PartFacts(product=herbicide, part="herbicide", percent_vv=2.0)
    with pytest.raises(Invalid) as refusal:
        mix_add(stamp=stamp, **facts(part, **changed))
    assert {error.field for error in refusal.value.errors} == {field}
    assert not Mix.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"rate_l_per_ha": 3.0}, "parts"),
        ({"percent_vv": None}, "parts"),
        ({"percent_vv": 0}, "parts"),
        ({"percent_vv": 101}, "parts"),
        ({"part": "luck"}, "parts.part"),
    ],
)
def test_it_names_the_part_that_is_wrong(stamp, herbicide, changed, field):
    part = PartFacts(**{"product": herbicide, "part": "herbicide", "percent_vv": 2.0} | changed)
    with pytest.raises(Invalid) as refusal:
        mix_add(stamp=stamp, **facts(part))
    assert [error.field for error in refusal.value.errors] == [field]
