"""The page of a season's windows: why each opens and closes, narrowed and sorted, and as a file."""

import csv
import html
import io
from datetime import date

import pytest
from django.urls import reverse

from tests import build
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, ground, name="season-windows", **query):
    reply = client.get(reverse(name, args=[ground.world.season.public_id]), query)
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def test_it_says_why_a_window_opens_and_closes(desk, ground):
    page = _page(desk, ground, method="dormant-foliar")
    assert "natives are out of leaf, plus 7 days" in page
    assert "recommended" in page


def test_it_marks_what_is_chosen(desk, ground):
    ground.choose("dormant-foliar", ground.wide)
    assert ">chosen<" in _page(desk, ground)


def test_it_says_why_there_is_no_window(desk, ground):
    ground.wide.site.calendar.filter(kind="leaf_out").delete()
    page = _page(desk, ground, is_open="no")
    assert "no window" in page
    assert "The site's calendar has no leaf-off or leaf-out date" in page


def test_it_says_that_nothing_answers(desk, ground):
    assert "No window answers this" in _page(desk, ground, text="xyzzy")


def test_it_gives_the_same_rows_as_a_file(desk, ground):
    text = _page(desk, ground, "season-windows-file", method="dormant-foliar")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["patch"] for row in rows} == {"H-02", "H-03"}
    assert all(row["opens"] and row["opens because"] for row in rows)


def test_it_refuses_what_it_does_not_have(desk, ground):
    address = reverse("season-windows", args=[ground.world.season.public_id])
    assert desk.get(address, {"sort": "size"}).status_code == 400


def test_it_is_closed_to_crew_leads(client, crew_lead, ground):
    client.force_login(crew_lead)
    assert client.get(reverse("season-windows", args=[ground.world.season.public_id])).status_code == 403


def test_the_page_of_a_patch_tells_every_window_and_the_seed_deadline(desk, ground):
    form = build.GrowthFormFactory(code="climbing")
    build.SurveyComponentFactory(survey=ground.wide.surveys.get(), growth_form=form, fertile="yes")
    days = {"first_day": date(2027, 2, 1), "last_day": date(2027, 2, 7)}
    build.ClosureFactory(site=ground.wide.site, kind="burn", why="North unit", **days)
    address = reverse("patch", args=[ground.wide.public_id])
    page = html.unescape(desk.get(address).content.decode())
    assert "Wintercreeper: cut or remove by" in page
    assert "Open Feb 8 to" in page
    assert "the site closes for a prescribed burn: North unit" in page
