"""A mix as estimating reads it: each part with its product's formulation, which gives the order of mixing."""

import pytest

from estimating.materials import mix_card
from orders.estimates.convert import mix_facts
from tests import build

pytestmark = pytest.mark.django_db


def _steps(*formulations):
    products = [build.ProductFactory(code=f"the-{word or 'plain'}", formulation=word) for word in formulations]
    mix = build.MixFactory(products=[(product, 1.0, "herbicide") for product in products])
    steps = mix_card(mix_facts(mix), 15.0).steps
    return [step.split()[1] for step in steps if step.startswith("Add ")]


def test_it_goes_into_the_tank_by_its_formulation():
    assert _steps("emulsion", "solution", "dry") == ["the-dry", "the-emulsion", "the-solution"]


def test_it_goes_in_as_is_usual_for_its_part_where_nothing_is_said():
    assert _steps("", "suspension") == ["the-suspension", "the-plain"]
