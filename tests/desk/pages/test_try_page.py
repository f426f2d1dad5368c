"""An estimate tried under other conditions on its page: form, old beside new, why, the label's word, cautions."""

import html
import re

import pytest
from django.urls import reverse

from orders.desk.templatetags.desk import money
from orders.estimates.models import Estimate
from orders.estimates.trying import Trial, estimate_tried
from tests import build
from tests.browser.try_pages import imazapyr_mix
from tests.desk.pages.estimated import ON, estimates_made

pytestmark = pytest.mark.django_db
OWN = "role-crew-member=3&role-applicator=1&role-sawyer=1"


@pytest.fixture
def made(coordinator, client):
    client.force_login(coordinator)
    return estimates_made()


def _reply(client, estimate, query=""):
    return client.get(f"{reverse('estimate-try', args=[estimate.public_id])}?{query}")


def _page(client, estimate, query=""):
    return html.unescape(_reply(client, estimate, query).content.decode())


def _row(page, key):
    row = re.search(rf'<tr data-row="{key}">(.*?)</tr>', page, re.DOTALL)
    assert row, key
    return re.findall(r"<td[^>]*>(.*?)</td>", row[1])


def test_it_starts_with_the_estimates_own_crew_and_day(client, made):
    page = _page(client, made["cut-stem"])
    for role, count in (("crew-member", 3), ("applicator", 1), ("sawyer", 1)):
        assert re.search(rf'name="role-{role}" value="{count}"', page)
    assert "Nothing tried yet" in page
    assert "As estimated: Invented STEM-50" in page


def test_it_is_linked_from_the_estimate(client, made):
    page = client.get(reverse("estimate", args=[made["cut"].public_id])).content.decode()
    assert reverse("estimate-try", args=[made["cut"].public_id]) in page


def test_it_shows_old_beside_new(client, made):
    estimate = made["hand-pull"]
    page = _page(client, estimate, "role-crew-member=1&role-applicator=1&role-sawyer=0")
    new = estimate_tried(estimate, Trial(people={"crew-member": 1, "applicator": 1}), ON).new
    assert new
    assert _row(page, "total_cents")[:2] == [money(estimate.total_cents), money(new.total_cents)]
    assert _row(page, "crew_sent") == ["5", "2", "−3"]
    assert _row(page, "tank_loads") if new.spray_volume_l else "Mix and products" not in page


def test_it_leaves_what_the_address_does_not_name_as_estimated(client, made):
    page = _page(client, made["hand-pull"], "air_temperature_f=98")
    assert re.search(r'name="role-crew-member" value="3"', page)
    assert re.search(r'<option value="moderate" selected', page)
    assert _row(page, "work_minutes_per_hour") == ["60", "60", "same"]


def test_it_says_the_same_where_nothing_changes(client, made):
    page = _page(client, made["cut-stem"], OWN)
    assert {_row(page, key)[2] for key in ("hours_likely", "total_cents", "product-MAST-41")} == {"same"}


def test_it_tells_work_and_rest_with_the_source(client, made):
    page = _page(client, made["hand-pull"], f"{OWN}&air_temperature_f=98&workload=heavy&new_workers=1&day_in_heat=2")
    assert "35 minutes of work and 25 of rest in each hour" in page
    assert "NIOSH 2016-106" in page
    assert re.search(r"2 \(tried\)</th><td[^>]*>40%</td><td[^>]*>60%", page)
    assert "Water, rest and shade" in page


def test_it_has_no_figures_where_heat_stops_work(client, made):
    page = _page(client, made["hand-pull"], f"{OWN}&air_temperature_f=112&workload=heavy")
    assert "It is too hot for this work" in page
    assert "no time of the hour is left" in page
    assert "Old beside new" not in page


def test_it_tells_that_a_label_refuses_the_mix(client, made):
    estimate = made["cut-stem"]
    type(estimate.survey).objects.filter(pk=estimate.survey_id).update(desirable_tree_roots="yes")
    page = _page(client, estimate, f"{OWN}&mix={imazapyr_mix().code}")
    assert "Refused: nobody may let this pass" in page
    assert 'data-finding="soil-active-near-trees"' in page
    assert "The label is the law." in page
    assert "Old beside new" not in page


@pytest.mark.parametrize(
    ("query", "name"),
    [
        ("role-crew-member=-1", "role-crew-member"),
        ("air_temperature_f=hot", "air_temperature_f"),
        ("air_temperature_f=200", "air_temperature_f"),
        ("day_in_heat=0", "day_in_heat"),
        (f"{OWN}&new_workers=6", "new_workers"),
        (f"{OWN}&mix=none-such", "mix"),
    ],
)
def test_it_tells_what_is_wrong_beside_the_field(client, made, query, name):
    reply = _reply(client, made["cut-stem"], query)
    page = reply.content.decode()
    assert reply.status_code == 400
    assert f'id="id_{name}_error"' in page
    assert f'href="#id_{name}"' in page


def test_it_tells_that_nobody_is_left_in_the_crew(client, made):
    reply = _reply(client, made["cut-stem"], "role-crew-member=0&role-applicator=0&role-sawyer=0")
    assert reply.status_code == 400
    assert "a crew has at least one person" in reply.content.decode()


def test_it_stores_nothing(client, made):
    count = Estimate.objects.count()
    _page(client, made["cut-stem"], f"{OWN}&air_temperature_f=95")
    assert Estimate.objects.count() == count


def test_it_says_that_the_facts_of_an_old_estimate_were_not_kept(client, coordinator):
    client.force_login(coordinator)
    reply = _reply(client, build.EstimateFactory())
    assert reply.status_code == 409
    assert b"were not kept" in reply.content


def test_it_opens_to_the_office(client, crew_lead, made):
    client.force_login(crew_lead)
    assert _reply(client, made["cut"]).status_code == 403
