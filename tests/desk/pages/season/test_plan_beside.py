"""A plan read from top to bottom: how good it is, what each fund pays, what would let in what is left out, what-ifs."""

import html

import pytest
from django.urls import reverse

from orders.planning.models import PlanRun
from tests import build
from tests.desk.pages.planned import FIGURES, LEFT_OUT, plan_done, planned, proposed

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def run(made):
    found = plan_done(made.season, title="Before the thaw")
    proposed(found, made)
    return found


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, run, name="plan"):
    return html.unescape(client.get(reverse(name, args=[run.public_id])).content.decode())


def _table(page, name):
    return page.partition(f'id="{name}"')[2].partition("</table>")[0]


def _what_if(season, **more):
    return plan_done(season, purpose="what_if", **more)


def test_it_says_in_words_how_far_the_best_may_be(desk, run):
    assert "loses at most 10.1% less than this one" in _page(desk, run)
    PlanRun.objects.filter(pk=run.pk).update(bound_cents=7_900_000)
    assert "No plan can be better" in _page(desk, run)


def test_it_sums_what_is_left_out_by_reason_with_its_fixes(desk, made):
    more = [
        LEFT_OUT,
        {**LEFT_OUT, "hours": 5.5},
        {**LEFT_OUT, "constraint": "money", "would_help": "", "change_cents": 0},
    ]
    reasons = _table(_page(desk, plan_done(made.season, left_out=more)), "reasons")
    first, second = reasons.split("</tr>")[1:3]
    for told in ("License", ">2<", ">20.0<", "$760.00"):
        assert told in first
    assert "Money" in second
    assert ">0<" in second


def test_it_shows_the_hours_that_each_fund_pays(desk, made, run):
    fund = build.SeasonFundFactory(season=made.season, code="CITY")
    for visit in run.visits.all():
        for share in visit.shares.all():
            share.prescription.fund = fund
            share.prescription.save()
    hours = sum(share.planned_hours for visit in run.visits.all() for share in visit.shares.all())
    assert f'<td class="number">{hours:.0f}</td>' in _table(_page(desk, run), "funds")


def test_it_shows_no_hours_by_fund_where_not_all_visits_are_its_own(desk, made):
    assert "Person-hours" not in _table(_page(desk, plan_done(made.season, purpose="replan")), "funds")


def test_what_ifs_stand_beside_it_with_their_differences(desk, run):
    _what_if(run.season, title="1 more crew", figures={**FIGURES, "person_hours": 900.4})
    _what_if(run.season, title="no herbicide", dropped_at=build.NOW)
    table = _table(_page(desk, run), "beside-table")
    assert "1 more crew" in table
    assert "+88" in table
    assert "no herbicide" not in table.lower()


def test_what_ifs_at_work_are_told_and_followed(desk, run):
    one = build.PlanRunFactory(season=run.season, purpose="what_if", title="1 more crew", state="running")
    page = _page(desk, run, "plan-beside")
    assert reverse("plan", args=[one.public_id]) in page
    assert "hx-get" in page
    PlanRun.objects.filter(pk=one.pk).update(state="failed")
    assert "hx-get" not in _page(desk, run, "plan-beside")


@pytest.mark.parametrize(
    ("more", "changes"),
    [
        ({"extra_crews": "1"}, {"extra_crews": 1}),
        ({"budget_percent": "90"}, {"budget_percent": 90.0}),
        ({"no_herbicide": "on"}, {"no_herbicide": True}),
        ({"saturdays": "on"}, {"saturdays": True}),
    ],
)
def test_a_what_if_is_asked_from_the_plan_and_leads_back_to_it(desk, run, more, changes):
    told = {"search": "quick", "extra_crews": "0", "budget_percent": "100", **more}
    sent = {"purpose": "what", "beside": str(run.public_id), **{f"what-{name}": value for name, value in told.items()}}
    reply = desk.post(reverse("plan-ask", args=[run.season.public_id]), sent)
    assert reply.url == f"{reverse('plan', args=[run.public_id])}#beside"
    asked = PlanRun.objects.get(purpose="what_if")
    assert changes.items() <= asked.changes.items()


def test_every_quick_what_if_on_the_page_is_one_that_can_be_asked(desk, run):
    page = _page(desk, run)
    section = page.partition('id="beside"')[2].partition("</section>")[0]
    assert section.count('name="what-search"') >= 4
    for words in ("1 more crew", "10% less money", "No herbicide", "Saturdays too"):
        assert words in section


def test_the_plan_that_stands_is_made_again_from_its_page(desk, made):
    run = plan_done(made.season, accepted_at=build.NOW)
    assert "Plan again and move little" in _page(desk, run)
    desk.post(reverse("plan-ask", args=[made.season.public_id]), {"purpose": "again", "again-search": "usual"})
    assert PlanRun.objects.filter(purpose="replan").count() == 1


def test_a_plan_that_was_followed_by_another_is_not_repaired(desk, made):
    run = plan_done(made.season, accepted_at=build.NOW)
    plan_done(made.season, accepted_at=build.NOW.replace(year=2028))
    assert "Plan again and move little" not in _page(desk, run)


def test_its_search_is_drawn_while_it_is_at_work(desk, made):
    more = {"state": "running", "course": [[0, 9_400_000], [400, 8_600_000]], "lost_cents": 8_600_000}
    run = build.PlanRunFactory(season=made.season, bound_cents=7_100_000, progress_done=900, **more)
    page = _page(desk, run, "plan-live")
    for told in ("<svg", "$86,000.00", "$71,000.00", "900"):
        assert told in page
    assert reverse("plan-live", args=[run.public_id]) in _page(desk, run)


def test_numbers_of_the_search_are_taken_where_they_are_given(desk, made):
    sent = {"purpose": "plan", "plan-search": "quick", "plan-rounds": "123", "plan-exact": "1.5"}
    desk.post(reverse("plan-ask", args=[made.season.public_id]), sent)
    run = PlanRun.objects.get()
    assert (run.iterations, run.exact_work) == (123, 1.5)


def test_it_opens_by_role(client, crew_lead, finance, run):
    for person, status in ((finance, 200), (crew_lead, 403)):
        client.force_login(person)
        for name in ("plan-beside", "plan-live"):
            assert client.get(reverse(name, args=[run.public_id])).status_code == status
