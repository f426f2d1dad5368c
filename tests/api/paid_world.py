"""Two people of one role at different pay, a week with overtime, and everything that a reader can open about it."""

import io
import re
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.test import Client
from django.urls import URLPattern, reverse

from orders.api import urls as api_urls
from orders.api.permissions import TABLE
from orders.common.models import User
from orders.costs.models import Fund, LedgerEntry, PayRate, WorkweekPremium
from orders.crews.models import LaborRole
from orders.desk import urls as desk_urls
from orders.desk.dispatch.order_acts import ACTS
from orders.desk.guide.guides import GUIDES
from orders.reports.catalog import REPORTS
from tests import build
from tests.api.caller import Caller
from tests.api.fuzz_world import fuzz_world_build
from tests.costs.weeks import Weeks
from tests.desk.pages.pdf_text import pdf_text

LEAST_CENTS = 1_000  # smaller figures stand in any page by chance
# loaded rate and wage of each, 1/10,000 dollars an hour
PAID = (("R. Teasel", 283_719, 231_713), ("P. Sedge", 337_283, 277_919))
READERS = ("coordinator", "lead", "pesticide_supervisor")


@dataclass
class PaidWorld:
    users: dict[str, Any]
    ids: dict[str, list[str]]
    secrets: re.Pattern[str]
    order: Any
    people: list[Any]

    def found_in(self, text: str) -> list[str]:
        return sorted(set(self.secrets.findall(text)))


def paid_world_build() -> PaidWorld:
    build.PersonFactory.reset_sequence(1)  # names are numbered: none may be an amount that is looked for
    world = fuzz_world_build()
    lead, coordinator = (_user(name) for name in ("lead", "coordinator"))
    weeks = Weeks(
        lead=lead,
        role=LaborRole.objects.get(code="crew-member"),
        crew=lead.person.memberships.order_by("id")[0].crew,
        suspense=Fund.objects.get(is_suspense=True),
        fund=Fund.objects.get(code="OPS"),
    )
    people = [weeks.person(name, rate, wage_e4=wage) for name, rate, wage in PAID]
    order = weeks.order()
    times = [(person, day, 480 + 7 * number) for number, person in enumerate(people) for day in range(1, 6)]
    weeks.close(order, *times, *((person, 6, 397) for person in people))
    for person in people:
        weeks.sheet(person, 0, ("shop", 150), ("training", 80))
    weeks.amend(order, *times, *((person, 6, 411) for person in people))
    visit = order.order_visits.get().visit
    share = visit.shares.get()
    ids = world.ids | {
        "order_id": [str(order.public_id)],
        "visit_id": [str(visit.public_id)],
        "prescription_id": [str(share.prescription.public_id)],
        "patch_id": [str(share.prescription.patch.public_id)],
        "site_id": [str(order.site.public_id)],
        "season_id": [str(order.season.public_id), *world.ids["season_id"]],
        "premium_id": [str(row.public_id) for row in WorkweekPremium.objects.filter(person__in=people)],
        "person_id": [str(person.public_id) for person in people],
        "crew_id": [str(order.crew.public_id)],
        "role_id": [str(people[0].role.public_id)],
    }
    users = {"coordinator": coordinator, "lead": lead, "finance": _user("finance")}
    users["pesticide_supervisor"] = _user("pesticide_supervisor")
    return PaidWorld(users, ids, _secrets(people), order, people)


def _user(name: str) -> Any:
    return User.objects.get(username=name)


def _secrets(people: list[Any]) -> re.Pattern[str]:
    """Rates, wages, what each row came to, and the sums from which, over hours, a rate can be told; as 1/10,000, as
    cents and as dollars."""
    known = PayRate.objects.filter(person__in=people)
    rates = {amount for rate in known for amount in (rate.rate_e4, rate.wage_e4) if amount is not None}
    rates |= set(WorkweekPremium.objects.filter(person__in=people).values_list("regular_rate_e4", flat=True))
    rows = list(LedgerEntry.objects.filter(person__in=people))
    cents = {abs(row.amount_cents) for row in rows}
    cents |= set(WorkweekPremium.objects.filter(person__in=people).values_list("premium_cents", flat=True))
    for kept in ([*rows], *([row for row in rows if row.person == person] for person in people)):
        for category in ("labor", "premium"):
            cents.add(abs(sum(row.amount_cents for row in kept if row.category == category)))
        cents.add(abs(sum(row.amount_cents for row in kept)))
    told = {f"{rate}" for rate in rates} | {f"{rate / 10_000:.4f}" for rate in rates}
    told |= {f"{round(rate / 100) / 100:.2f}" for rate in rates}
    for amount in cents:
        if amount >= LEAST_CENTS:
            told |= {f"{amount}", f"{amount / 100:.2f}", f"{amount / 100:,.2f}"}
    words = "|".join(re.escape(word) for word in sorted(told, key=len, reverse=True))
    return re.compile(rf"(?<![\w.,-])(?:{words})(?![\w-]|\.\d)")


def api_addresses(world: PaidWorld) -> list[tuple[str, str]]:
    """(endpoint, address) of everything that can be read."""
    return [
        (pattern.name or "", reverse(f"api:{pattern.name}", kwargs=named))
        for pattern in api_urls.urlpatterns
        if "GET" in TABLE.get(pattern.name or "", {})
        for named in _places(pattern, world.ids)
    ]


def desk_addresses(world: PaidWorld) -> list[str]:
    """Every page that has an address of its own; those that take words only are opened with the usual ones."""
    plain = [pattern for pattern in desk_urls.urlpatterns if isinstance(pattern, URLPattern) and pattern.name]
    return [reverse(pattern.name or "", kwargs=named) for pattern in plain for named in _places(pattern, world.ids)]


NOBODY = UUID(int=7)
WORDS = {
    "sha256": "0" * 64,
    "secret": "none",
    "line": 1,
    "ending": "csv",
    "month": "2027-02",
    "size": 192,
    "version": "none",
    "section": "seeds",
}
CODES: dict[str, Iterable[str]] = {
    "problem": ["not_found"],
    "order-act": ACTS,
    "help-guide": [guide.code for guide in GUIDES],
}


def _places(pattern: URLPattern, ids: dict[str, list[str]]) -> list[dict[str, Any]]:
    """The ways to fill an address' parameters: one for each row of the first that has several."""
    names = list(pattern.pattern.regex.groupindex)
    if not names:
        return [{}]
    usual = {name: (ids.get(name) or [str(WORDS.get(name, NOBODY))])[0] for name in names}
    if "code" in names:
        return [{**usual, "code": code} for code in CODES.get(pattern.name or "", REPORTS)]
    first = names[0]
    return [{**usual, first: value} for value in ids.get(first, [usual[first]])]


def text_of(reply: Any) -> str:
    """What a reader gets, with what is packed in it."""
    body = b"".join(reply.streaming_content) if reply.streaming else reply.content
    kind = reply.headers.get("Content-Type", "")
    if body.startswith(b"%PDF"):
        return pdf_text(body)
    if body.startswith(b"PK"):
        packed = zipfile.ZipFile(io.BytesIO(body))
        return " ".join(packed.read(name).decode(errors="replace") for name in packed.namelist())
    return "" if kind.startswith(("image/", "font/")) else body.decode(errors="replace")


def caller_of(world: PaidWorld, reader: str) -> Caller:
    return Caller(world.users[reader])


def browser_of(world: PaidWorld, reader: str) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(world.users[reader])
    return client
