"""POST /tablet/sync/work: what a crew takes outside."""

from datetime import datetime, timedelta
from itertools import count

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.common.clock import now
from orders.costs.models import Fund, PayRate
from orders.supplies.models import Price
from orders.workorders.models import WorkOrder
from tests import build
from tests.build.tablet_world import tablet_world
from tests.carried.caller import asked, device_of, package

pytestmark = pytest.mark.django_db
MONEY = frozenset(
    ["price", "prices", "cost", "costs", "pay", "fund", "funds", "funding", "cents", "e4", "budget", "award", "wage"]
)
NUMBERS = count(500)  # the world's own orders have the first numbers


@pytest.fixture
def world():
    return tablet_world()


@pytest.fixture
def told(world, client):
    device_of(world.lead_user)
    return package(client)


def order_of(told, order):
    return next(one for one in told["orders"] if one["id"] == str(order.public_id))


def test_it_holds_the_orders_of_the_crew(world, told):
    assert told["payload_version"] == 1
    assert set(told["order_ids"]) == {str(world.pulling.public_id), str(world.herbicide.public_id)}
    assert [one["id"] for one in told["orders"]] == told["order_ids"]
    assert [person["name"] for person in told["people"]] == ["Lena Ward"]


def test_it_names_the_program(world, client, settings):
    settings.PROGRAM_NAME = "Invented Land Trust"
    device_of(world.lead_user)
    assert package(client)["program_name"] == "Invented Land Trust"


def test_it_tells_the_work_step_by_step(world, told):
    row = order_of(told, world.pulling)["work"][0]
    assert (row["patch_code"], row["method"]["code"], row["species"]) == ("P-01", "hand-pull", ["wintercreeper"])
    estimate = world.pulling.order_visits.get().visit.shares.first().prescription.estimate
    assert sum(step["hours"] for step in row["steps"]) == pytest.approx(estimate.person_hours, abs=0.05)


def test_it_gives_an_honest_range_of_paid_hours(world, told):
    shares = world.pulling.order_visits.get().visit.shares.all()
    single = [share.prescription.estimate.paid_person_hours for share in shares]
    hours = order_of(told, world.pulling)["hours"]
    assert hours["low"] < sum(single) <= hours["likely"] * 1.001 < hours["high"]


def test_it_has_no_rate_of_pay_price_cost_or_fund(world, client):
    PayRate.objects.update(rate_e4=98_765_431)
    Price.objects.update(price_e4=87_654_321)
    for fund in Fund.objects.all():
        Fund.objects.filter(pk=fund.pk).update(code=f"SECRETFUND{fund.pk}", name="Secret fund")
    device_of(world.lead_user)
    told = package(client)
    assert not {key for key in keys_of(told) if MONEY & set(key.lower().split("_"))}
    text = str(told)
    assert all(secret not in text for secret in ("98765431", "87654321", "SECRETFUND", "Secret fund", "$"))


def keys_of(value):
    if isinstance(value, dict):
        return {*value, *(key for inner in value.values() for key in keys_of(inner))}
    return {key for inner in value for key in keys_of(inner)} if isinstance(value, list) else set()


def test_it_sends_an_order_that_is_held_only_when_it_changed(world, told, client):
    known = {order["id"]: order["hash"] for order in told["orders"]}
    assert package(client, known)["orders"] == []
    WorkOrder.objects.filter(pk=world.pulling.pk).update(instructions="Mind the fence.")
    assert [order["instructions"] for order in package(client, known)["orders"]] == ["Mind the fence."]


def test_it_names_what_is_gone(world, told, client):
    WorkOrder.objects.filter(pk=world.pulling.pk).update(state="void", void_reason="Sold")
    gone = package(client, {order["id"]: order["hash"] for order in told["orders"]})["gone"]
    assert gone == [str(world.pulling.public_id)]


def test_it_leaves_drafts_and_other_crews_out(world, client):
    _bare(world, state="draft")
    _bare(world, crew=build.CrewFactory())
    device_of(world.lead_user)
    assert len(package(client)["order_ids"]) == 2


def test_it_holds_what_is_late_and_what_is_far_off(world, client):
    late = _bare(world, first_day=world.day - timedelta(days=90), last_day=world.day - timedelta(days=80))
    ahead = _bare(world, first_day=world.day + timedelta(days=400), last_day=world.day + timedelta(days=400))
    device_of(world.lead_user)
    ids = package(client)["order_ids"]
    assert len(ids) == 4
    assert (ids[0], ids[-1]) == (str(late.public_id), str(ahead.public_id))


def test_it_holds_the_oldest_open_orders_where_there_are_too_many(world, client, monkeypatch):
    monkeypatch.setattr("orders.carried.scope.MOST_OPEN_ORDERS", 2)
    late, later = (_bare(world, first_day=world.day - timedelta(days=days)) for days in (90, 80))
    fresh = _bare(world, state="closed", closed_at=now())
    device_of(world.lead_user)
    assert package(client)["order_ids"] == [str(order.public_id) for order in (late, later, fresh)]


def test_it_holds_a_closed_order_for_a_week(world, client):
    _bare(world, state="closed", closed_at=now() - timedelta(days=9))
    fresh = _bare(world, state="closed", closed_at=now() - timedelta(days=2))
    close = build.CloseOutFactory(order=fresh)
    device_of(world.lead_user)
    told = package(client)
    assert len(told["order_ids"]) == 3
    assert order_of(told, fresh)["close_out"]["id"] == str(close.public_id)


def _bare(world, **facts):
    label = {"version": 1, "products": [], "rain_free_hours": None, "restricted_entry_hours": None}
    dates = {"first_day": world.day, "last_day": world.day, "state": "issued", "label": label}
    usual = {"number": next(NUMBERS), "crew": world.crew, "site": world.site, "season": world.season}
    return build.WorkOrderFactory(**{**usual, **dates, **facts})


def test_it_asks_the_database_no_more_for_more_orders(world, client):
    device_of(world.lead_user)
    package(client)
    with CaptureQueriesContext(connection) as few:
        package(client)
    for number in range(3):
        copied(world.herbicide, number)
    with CaptureQueriesContext(connection) as many:
        assert len(package(client)["orders"]) == 5
    assert len(many) == len(few)


def copied(order, number):
    """The same work once more, on an order of its own."""
    old = order.order_visits.get().visit
    visit = build.VisitFactory(
        crew=old.crew, site=old.site, season=old.season, day=old.day + timedelta(days=number), state="ordered"
    )
    for share in old.shares.all():
        asked_for = build.PrescriptionFactory(
            season=old.season, patch=share.prescription.patch, estimate=share.prescription.estimate
        )
        build.VisitShareFactory(visit=visit, prescription=asked_for)
    return build.WorkOrderFactory(
        number=next(NUMBERS),
        crew=order.crew,
        site=order.site,
        season=order.season,
        state="issued",
        label=order.label,
        first_day=visit.day,
        last_day=visit.day,
        visits=[visit],
    )


def test_it_says_who_is_of_age_and_not_when_born(world, told):
    members = {one["name"]: one for one in told["crews"][0]["members"]}
    assert {name: one["of_age"] for name, one in members.items()} == {
        "Lena Ward": True,
        "Amos Tull": True,
        "Rye Colby": False,
    }
    assert world.minor.born_on.isoformat() not in str(told)


def test_it_says_of_whom_the_age_is_not_known(world, client):
    world.technician.born_on = None
    world.technician.save()
    device_of(world.lead_user)
    members = {one["name"]: one for one in package(client)["crews"][0]["members"]}
    assert members["Amos Tull"]["of_age"] is None


def test_it_says_who_supervises_whom(world, told):
    technician = next(one for one in told["crews"][0]["members"] if one["name"] == "Amos Tull")
    held = technician["qualifications"][0]
    assert (held["kind"], held["supervised_by"]) == ("registered-technician", str(world.lead.public_id))


def test_it_holds_a_volunteers_permit(world, client):
    volunteer = build.PersonFactory(person_type="volunteer")
    build.CrewMembershipFactory(crew=world.crew, person=volunteer, first_day=world.day - timedelta(days=9))
    year = {"first_day": world.day, "last_day": world.day.replace(month=12, day=31)}
    build.VolunteerPermitFactory(person=volunteer, for_products=[world.glyphosate], on_sites=[world.site], **year)
    device_of(world.lead_user)
    members = package(client)["crews"][0]["members"]
    permits = next(one["permits"] for one in members if one["person"] == str(volunteer.public_id))
    assert [(permit["products"], permit["sites"]) for permit in permits] == [
        (["glyphosate-480"], [str(world.site.public_id)])
    ]


def test_it_holds_the_emergency_plan_and_the_checklist(world, told):
    site = told["sites"][0]
    assert site["emergency"]["medical_help"] == "Tallow County Hospital, 14 minutes"
    assert (site["emergency"]["meeting_lon"], site["emergency"]["meeting_lat"]) == (-85.6995, 38.2005)
    assert [(row["code"], row["open"]) for row in site["checklist"]] == [("permission", False), ("utilities", False)]
    assert [patch["code"] for patch in site["patches"]] == ["P-01", "P-02", "P-03", "P-04"]


def test_it_serves_two_people_and_both_their_crews(world, client):
    other = build.UserFactory(roles=["crew_lead"])
    second = build.CrewFactory(name="Second crew")
    person = build.PersonFactory(user=other)
    build.CrewMembershipFactory(crew=second, person=person, first_day=world.day - timedelta(days=9))
    device_of(world.lead_user, other)
    told = package(client)
    assert {crew["name"] for crew in told["crews"]} == {"Fork crew", "Second crew"}
    own = {one["name"]: one["crews"] for one in told["people"]}
    assert own[person.name] == [str(second.public_id)]


def test_it_shows_nothing_to_who_left_the_crew(world, client):
    world.crew.memberships.filter(person=world.lead).update(last_day=world.day - timedelta(days=30))
    device_of(world.lead_user)
    told = package(client)
    assert (told["orders"], told["crews"]) == ([], [])


def test_it_shows_no_orders_to_a_role_that_sees_none(world, client):
    world.lead_user.roles.set([build.RoleFactory(code="finance")])
    device_of(world.lead_user)
    assert package(client)["order_ids"] == []


@pytest.mark.parametrize("token", ["wrong", ""])
def test_it_needs_the_tablets_token(world, client, token):
    device_of(world.lead_user)
    assert asked(client, token=token).status_code == 401


def test_it_refuses_a_tablet_that_was_revoked(world, client):
    device_of(world.lead_user, revoked_at=datetime.fromisoformat("2026-11-01T12:00:00+00:00"))
    reply = asked(client)
    assert (reply.status_code, reply.json()["code"]) == (403, "device_revoked")
