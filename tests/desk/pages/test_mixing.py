"""Sprayer and mix: forms that keep all in the address, the answer with its working, and clear errors."""

from typing import Any

import pytest
from django.urls import reverse

from estimating.sheets import SHEETS
from tests import build

pytestmark = pytest.mark.django_db
FILLED: dict[str, dict[str, Any]] = {
    "plot": {"caught_fl_oz": 25},
    "course": {"course_ft": 204, "course_seconds": 30, "width_in": 20, "caught_fl_oz": 17},
    "percent": {"percent_vv": 2, "carrier_gpa": 40, "area_acres": 0.25},
    "rate": {"rate_per_acre": 8, "carrier_gpa": 7.5, "tank_gal": 3},
    "acid": {"strength": 2, "product_fl_oz_per_acre": 96},
}


@pytest.fixture
def shown(client, coordinator):
    client.force_login(coordinator)
    return lambda **query: client.get(reverse("mixing"), query)


def text(reply):
    return reply.content.decode()


@pytest.mark.parametrize("sheet", SHEETS)
def test_it_starts_with_an_empty_form(shown, sheet):
    reply = shown(sheet=sheet)
    assert reply.status_code == 200
    assert "No answer yet" in text(reply)
    assert all(f'name="{entry.name}"' in text(reply) for entry in SHEETS[sheet].entries)


@pytest.mark.parametrize("sheet", SHEETS)
def test_it_answers_with_the_working_and_the_cautions(shown, sheet):
    reply = shown(sheet=sheet, **FILLED[sheet])
    assert reply.status_code == 200
    assert "How it is calculated" in text(reply)
    assert "label is the law" in text(reply)


def test_it_shows_the_formula_with_the_entered_figures(shown):
    page = text(shown(sheet="plot", caught_fl_oz=25, plot_length_ft=20, plot_width_ft=17))
    assert "25 ÷ 128 × 43,560 ÷ 340" in page
    assert "25.02 gal/acre" in page
    assert "234.1 L/ha" in page


def test_it_keeps_what_was_entered(shown):
    page = text(shown(sheet="rate", **FILLED["rate"], rate_unit="qt"))
    assert 'value="7.5"' in page
    assert '<option value="qt" selected>' in page


def test_it_shows_the_order_of_mixing_for_full_and_last_loads(shown):
    page = text(shown(sheet="percent", **FILLED["percent"]))
    assert "Order of mixing" in page
    assert "10.24 fl oz (303 mL) in a full load, 5.12 fl oz (151 mL) in the last load." in page


def test_it_refuses_what_is_above_the_labels_limit(shown):
    page = text(shown(sheet="acid", strength=4, percent_vv=5, carrier_gpa=50, most_lb_ae_per_acre=8))
    assert "Above the label&#x27;s limit: 10 lb ae per acre is more than 8. Do not apply this." in page
    assert "Product per acre</dt>" not in page


def test_it_names_every_entry_that_is_wrong(shown):
    reply = shown(sheet="course", course_ft="long", width_in="-1", course_seconds=30, caught_fl_oz=17)
    assert reply.status_code == 400
    page = text(reply)
    assert [page.count(f'id="id_{name}_error"') for name in ("course_ft", "width_in", "caught_fl_oz")] == [1, 1, 0]
    assert page.count('aria-invalid="true"') == 2
    assert "How it is calculated" not in page


def test_it_names_what_is_wrong_between_entries(shown):
    page = text(shown(sheet="percent", percent_vv=2, area_acres=1))
    assert "is needed to find the loads for some ground" in page


def test_it_writes_what_was_typed_as_text(shown):
    page = text(shown(sheet="plot", caught_fl_oz='"><script>alert(1)</script>'))
    assert "<script>alert" not in page


def test_it_has_no_sheet_that_is_not(shown):
    assert shown(sheet="boat").status_code == 400


def test_it_opens_to_crew_leads_too_and_to_nobody_without_a_role(client, crew_lead):
    client.force_login(crew_lead)
    assert client.get(reverse("mixing")).status_code == 200
    client.force_login(build.UserFactory())
    assert client.get(reverse("mixing")).status_code == 403
