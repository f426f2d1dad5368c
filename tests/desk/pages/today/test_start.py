"""The start page says what needs its reader, each kind only where it waits, and never what the roles do not open."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.urls import reverse

from orders.common.clock import now
from orders.desk.today.start import season_usual
from orders.reports.today import CARDS
from orders.reports.today.cards import due_in
from tests import build

pytestmark = pytest.mark.django_db


def local_today():
    return now().astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address="/"):
    return client.get(address).content.decode()


def needs(client):
    return [block.code for block in client.get("/").context["blocks"]]


def test_it_says_that_nothing_waits(desk):
    assert "Nothing waits for you" in shown(desk)


def test_it_puts_a_crew_that_is_not_back_first(desk):
    build.FlagFactory(state="open", title="Sprayed in wind")
    build.CheckInFactory(crew=build.CrewFactory(name="Late crew"), back_by=now() - timedelta(hours=3))
    assert needs(desk)[:2] == ["overdue", "flags"]
    assert "Late crew" in shown(desk)


@pytest.mark.parametrize(
    ("days", "told"), [(0, "due today"), (1, "due in 1 day"), (-1, "1 day late"), (-118, "118 days late")]
)
def test_it_says_due_of_what_is_not_late(days, told):
    on = date(2027, 12, 14)
    assert due_in(on + timedelta(days=days), on) == told


def test_it_leads_from_each_card_to_the_list_that_it_counted(desk):
    for number in range(5):
        build.FlagFactory(state="open", title=f"Flag {number}")
    page = desk.get("/")
    block = next(block for block in page.context["blocks"] if block.code == "flags")
    assert (block.words, len(block.rows), block.more) == ("5 flags are open", 3, 2)
    assert block.address == reverse("flags")
    assert desk.get(block.address).status_code == 200


def test_it_tells_of_orders_that_are_behind_and_of_those_not_issued(desk):
    today = local_today()
    order = {"first_day": today - timedelta(days=9), "last_day": today - timedelta(days=3)}
    build.WorkOrderFactory(state="issued", **order)
    build.WorkOrderFactory(state="closed", **order)
    build.WorkOrderFactory(state="draft", first_day=today + timedelta(days=3), last_day=today + timedelta(days=4))
    blocks = {block.code: block for block in desk.get("/").context["blocks"]}
    assert blocks["behind"].words.startswith("1 order is behind")
    assert blocks["drafts"].rows[0].about.endswith("in 3 days")


def test_it_tells_finance_of_money_and_nothing_of_the_ground(client, finance):
    build.FlagFactory(state="open")
    build.BillFactory(state="draft")
    client.force_login(finance)
    found = needs(client)
    assert "bills_draft" in found
    assert "flags" not in found


def test_it_tells_a_crew_lead_of_own_orders_alone(client, crew_lead):
    build.WorkOrderFactory(state="issued", first_day=local_today(), last_day=local_today())
    client.force_login(crew_lead)
    assert needs(client) == []


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.code)
def test_it_asks_every_card_of_everybody_who_may_read_it(client, card):
    client.force_login(build.UserFactory(roles=sorted(card.roles)))
    build.SeasonFactory()
    assert client.get("/").status_code == 200


def test_it_draws_how_far_the_season_is(desk):
    season = build.SeasonFactory(name="Winter 2027")
    build.PrescriptionFactory(season=season, state="open")
    build.PrescriptionFactory(season=season, state="done")
    page = desk.get("/")
    assert [pieces for _, pieces, _ in page.context["stages"]] == [1, 0, 0, 1]
    assert "work by what has become of it" in page.content.decode()


def test_it_takes_another_season_from_the_address(desk):
    build.SeasonFactory(name="Winter 2027")
    other = build.SeasonFactory(name="Winter 2031", first_day=date(2031, 1, 1), last_day=date(2031, 3, 1))
    assert desk.get(f"/?season={other.public_id}").context["season"] == other


def test_it_begins_with_the_season_of_the_day_or_the_next(db):
    past = build.SeasonFactory(name="A", first_day=date(2020, 1, 1), last_day=date(2020, 3, 1))
    coming = build.SeasonFactory(name="B", first_day=date(2030, 1, 1), last_day=date(2030, 3, 1))
    later = build.SeasonFactory(name="C", first_day=date(2031, 1, 1), last_day=date(2031, 3, 1))
    rows = [past, later, coming]
    assert season_usual(rows, date(2025, 5, 5)) == coming
    assert season_usual(rows, date(2040, 5, 5)) == later
    assert season_usual([], date(2040, 5, 5)) is None


def test_it_asks_the_same_number_of_times_however_much_waits(desk, django_assert_max_num_queries):
    season = build.SeasonFactory()
    for _ in range(12):
        build.FlagFactory(state="open")
        build.WorkOrderFactory(season=season, state="issued", last_day=date(2020, 2, 2), first_day=date(2020, 2, 1))
    with django_assert_max_num_queries(60):
        desk.get("/")
