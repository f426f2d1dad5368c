"""Effort statements: all paid time by fund and award, confirmed by name."""

from collections import Counter
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.common.errors import Invalid, RoleMissing, WrongState
from orders.costs.effort_lines import WHOLE_E4, Payer, _lines
from orders.costs.effort_selectors import effort_missing, effort_statements, shown
from orders.costs.models import EffortStatement
from orders.costs.services.effort import effort_confirm, effort_make, effort_make_all
from tests import build
from tests.build import stamp as stamped
from tests.costs.payday import DAY, FIRST, LAST, labor, sheet, worked

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    return build.PersonFactory(name="R. Teasel", user=build.UserFactory(username="ray"))


def made(person, stamp, first=FIRST, last=LAST):
    return effort_make(person=person, first_day=first, last_day=last, stamp=stamp)


def told(statement):
    rows = statement.lines.select_related("fund", "award").order_by("activity", "-minutes", "id")
    return [(row.fund and row.fund.code, row.activity, row.minutes, row.share_e4) for row in rows]


def test_it_covers_all_paid_time(person, stamp):
    order, award = build.WorkOrderFactory(), build.AwardFactory(fund__code="GRANT")
    city = build.FundFactory(code="CITY")
    sheet(person, DAY, ("work", 400, order), ("shop", 60, None), ("leave", 20, None))
    labor(person, 7_500, award.fund, award=award, order=order, minutes=300)
    labor(person, 2_500, city, order=order, minutes=100)
    labor(person, 1_500, city, minutes=60, work_code="shop", source_kind="day_line")
    statement = made(person, stamp)
    assert (statement.minutes, statement.state) == (480, "draft")
    assert told(statement) == [
        (None, "leave", 20, 417),
        ("GRANT", "orders", 300, 6_250),
        ("CITY", "orders", 100, 2_083),
        ("CITY", "shop", 60, 1_250),
    ]
    assert statement.lines.get(fund=award.fund).award == award


def test_it_splits_what_the_sheet_says_as_the_ledger_split_it(person, stamp):
    """The sheet has drive on the order that the close-out has not, and a row was taken back."""
    order, city, grant = build.WorkOrderFactory(), build.FundFactory(code="CITY"), build.FundFactory(code="GRANT")
    sheet(person, DAY, ("work", 300, order), ("drive", 33, order))
    wrong = labor(person, 9_000, city, order=order, minutes=300)
    labor(person, -9_000, city, order=order, minutes=-300, reverses=wrong)
    labor(person, 3_000, city, order=order, minutes=100)
    labor(person, 6_000, grant, order=order, minutes=200)
    assert told(made(person, stamp)) == [("GRANT", "orders", 222, 6_667), ("CITY", "orders", 111, 3_333)]


@given(st.lists(st.integers(1, 100_000), min_size=1, max_size=9))
def test_its_shares_are_the_whole(minutes):
    summed: Counter[tuple[Payer, str]] = Counter()
    for number, one in enumerate(minutes):
        summed[(number, None), "orders"] = one
    lines = list(_lines(summed))
    assert sum(line.share_e4 for line in lines) == WHOLE_E4
    assert sum(line.minutes for line in lines) == sum(minutes)


def test_it_stays_while_it_fits_and_is_replaced_when_time_changes(person, stamp):
    first_sheet = worked(person)
    first = made(person, stamp)
    assert made(person, stamp) == first
    sheet(person, DAY, ("work", 300, build.WorkOrderFactory()), amends=first_sheet)
    assert shown([first])[0].is_out_of_date
    second = made(person, stamp)
    first.refresh_from_db()
    assert (first.state, second.state, second.revision) == ("replaced", "draft", 2)
    assert not shown([second])[0].is_out_of_date


def test_it_refuses_days_without_paid_time(person, stamp):
    with pytest.raises(Invalid, match="not made"):
        made(person, stamp)


def test_it_refuses_a_volunteer(stamp):
    with pytest.raises(Invalid):
        made(build.PersonFactory(person_type="volunteer"), stamp)


def confirmed(statement, by, name="R. Teasel"):
    return effort_confirm(statement=statement, name=name, stamp=stamped(by))


def test_its_person_confirms_by_name(person, stamp):
    worked(person)
    done = confirmed(made(person, stamp), person.user, " r. teasel ")
    assert (done.state, done.confirmed_by, done.confirmed_name) == ("confirmed", person.user, "r. teasel")


def test_it_takes_no_other_name(person, stamp):
    worked(person)
    statement = made(person, stamp)
    with pytest.raises(Invalid, match="not confirmed"):
        confirmed(statement, person.user, "L. Rush")
    statement.refresh_from_db()
    assert statement.state == "draft"


def test_it_is_confirmed_once(person, stamp):
    worked(person)
    statement = confirmed(made(person, stamp), person.user)
    with pytest.raises(WrongState):
        confirmed(statement, person.user)


def test_it_names_the_days_that_lack_a_sheet(person, stamp):
    worked(person)
    build.TimeEntryFactory(person=person, work_date=date(2027, 2, 11))
    build.TimedSpanFactory(person=person, work_date=date(2027, 2, 12))
    with pytest.raises(Invalid, match="does not cover") as refusal:
        confirmed(made(person, stamp), person.user)
    assert [error.message for error in refusal.value.errors] == [
        "2027-02-11 has no day sheet.",
        "2027-02-12 has no day sheet.",
    ]


def test_it_is_not_confirmed_once_time_has_changed(person, stamp):
    first_sheet = worked(person)
    statement = made(person, stamp)
    sheet(person, DAY, ("work", 300, build.WorkOrderFactory()), amends=first_sheet)
    with pytest.raises(WrongState, match="made anew"):
        confirmed(statement, person.user)


def led(person, *, first_day=date(2026, 1, 1), last_day=None):
    crew, lead = build.CrewFactory(), build.PersonFactory(user=build.UserFactory(roles=["crew_lead"]))
    build.CrewMembershipFactory(crew=crew, person=person)
    build.CrewMembershipFactory(crew=crew, person=lead, is_lead=True, first_day=first_day, last_day=last_day)
    return lead


def test_who_led_the_work_confirms_by_own_name(person, stamp):
    worked(person)
    lead = led(person)
    with pytest.raises(Invalid):
        confirmed(made(person, stamp), lead.user, "R. Teasel")
    assert confirmed(made(person, stamp), lead.user, lead.name).confirmed_by == lead.user


@pytest.mark.parametrize("role", ["finance", "administrator", "crew_lead"])
def test_who_saw_no_work_does_not_confirm(person, stamp, role):
    worked(person)
    before = led(person, last_day=date(2027, 1, 31))
    statement = made(person, stamp)
    for user in (build.UserFactory(roles=[role]), before.user):
        with pytest.raises(RoleMissing):
            confirmed(statement, user)


def test_each_sees_what_is_theirs(person, stamp):
    worked(person)
    statement = made(person, stamp)
    sees = [
        person.user,
        led(person).user,
        build.UserFactory(roles=["finance"]),
        build.UserFactory(roles=["coordinator"]),
    ]
    others = [build.UserFactory(roles=["crew_lead"]), build.PersonFactory(user=build.UserFactory()).user]
    assert [list(effort_statements(user)) for user in sees] == [[statement]] * 4
    assert [list(effort_statements(user)) for user in others] == [[], []]


def test_it_makes_those_of_everybody_at_once(person, stamp):
    finance = build.UserFactory(roles=["finance"])
    worked(person)
    worked(build.PersonFactory(name="L. Rush"))
    worked(build.PersonFactory(person_type="loaned"))
    assert [one.name for one in effort_missing(finance, FIRST, LAST)] == ["L. Rush", "R. Teasel"]
    effort_make_all(first_day=FIRST, last_day=LAST, stamp=stamp)
    assert EffortStatement.objects.count() == 2
    assert effort_missing(finance, FIRST, LAST) == []
