"""Workweeks made with the program's own verbs: orders that are closed and amended, day sheets, and who was there."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

from orders import corrections, flow
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry, WorkweekPremium
from orders.field.models import DaySheet
from orders.field.services.daysheets import LineStated
from orders.workorders.statements import Outcome, Statement, TimeStated
from tests import build

SUNDAY = date(2027, 2, 7)
MONDAY = SUNDAY + timedelta(days=1)
TOLD = datetime(2027, 2, 15, 20, tzinfo=UTC)


class Weeks:
    """One crew of one lead; `person()` adds people, `order()` an issued order with one visit."""

    def __init__(self, **given):
        self.lead = given.get("lead") or build.UserFactory(username="weeks-lead", roles=["crew_lead"])
        self.role = given.get("role") or build.LaborRoleFactory(code="crew-member")
        self.crew = given.get("crew") or build.CrewFactory(name="Hollow crew", people=0)
        self.suspense = given.get("suspense") or build.FundFactory(code="SUSPENSE", is_suspense=True)
        self.fund = given.get("fund") or build.FundFactory(code="OPS", budget_cents=None)

    def stamp(self, reason="", at=TOLD):
        return Stamp(by=self.lead, at=at, reason=reason)

    def person(self, name="R. Teasel", rate_e4=200_000, person_type="staff", **rate):
        person = build.PersonFactory(name=name, role=self.role, person_type=person_type)
        build.CrewMembershipFactory(crew=self.crew, person=person, first_day=date(2026, 1, 1))
        if rate_e4 is not None:
            build.PayRateFactory(person=person, from_day=date(2026, 1, 1), rate_e4=rate_e4, **rate)
        return person

    def order(self, *, prescriptions=1, site=None, shares=None, day=MONDAY):
        patches = [build.PatchFactory(**({"site": site} if site else {}))]
        patches += [build.PatchFactory(site=patches[0].site) for _ in range(prescriptions - 1)]
        asked = [build.PrescriptionFactory(patch=patch, state="ordered") for patch in patches]
        where = {"site": patches[0].site, "crew": self.crew, "season": asked[0].season}
        visit = build.VisitFactory(**where, day=day, state="ordered", prescriptions=asked)
        order = build.WorkOrderFactory(**where, visits=[visit], state="issued", first_day=day, last_day=day)
        for fund, award, share_e4 in shares or [(self.fund, None, 10_000)]:
            build.OrderFundingFactory(order=order, fund=fund, award=award, share_e4=share_e4)
        return order

    def stated(self, order, *times):
        """`times`: (person, days after Sunday, minutes), and the step where there is one."""
        visit = order.order_visits.get().visit
        asked = [share.prescription for share in visit.shares.order_by("id")]
        return Statement(
            work_date=visit.day,
            happened_at=TOLD,
            confirmed_by="A. Lead",
            outcomes=tuple(Outcome(row.public_id, 100) for row in asked),
            times=tuple(
                TimeStated(visit.public_id, person.public_id, minutes, "typed", work_date=SUNDAY + timedelta(days=day))
                for person, day, minutes in times
            ),
        )

    def close(self, order, *times, at=TOLD):
        return flow.close_order(order=order, statement=self.stated(order, *times), stamp=self.stamp(at=at))

    def amend(self, order, *times, at=TOLD):
        order.refresh_from_db()
        stamp = self.stamp("Miscounted.", at)
        return corrections.amend_close_out(order=order, statement=self.stated(order, *times), stamp=stamp)

    def sheet(self, person, day, *lines, reason="Set right.", at=TOLD):
        """`lines`: (code, minutes) and the order, where one is named."""
        sheet = DaySheet(
            public_id=uuid4(),
            at=at,
            crew=self.crew,
            person=person,
            work_date=SUNDAY + timedelta(days=day),
            rule="minutes",
            confirmed_by="A. Lead",
            reason=reason,
        )
        told = [LineStated(code, minutes, "typed", *order) for code, minutes, *order in lines]
        return flow.confirm_day_sheet(sheet=sheet, lines=told, stamp=self.stamp(at=at))


def standing(**where):
    """Rows that no later row has taken back."""
    return LedgerEntry.objects.filter(reverses__isnull=True, reversed_by__isnull=True, **where).order_by("id")


def cents(rows):
    return sum(row.amount_cents for row in rows)


def newest(person, start=SUNDAY):
    return WorkweekPremium.objects.filter(person=person, week_start=start).order_by("-revision").first()
