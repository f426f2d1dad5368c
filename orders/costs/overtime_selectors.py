"""Reads of the overtime premium: finance's alone, since from premium and hours a wage can be told."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.costs.models import LedgerEntry, WorkweekPremium
from orders.costs.selectors import costs_open_to

SOURCE = "overtime"


def workweeks(actor: User) -> QuerySet[WorkweekPremium]:
    """The newest revision of each person's week that ever had overtime."""
    costs_open_to(actor)
    same = {"person": OuterRef("person"), "week_start": OuterRef("week_start")}
    later = WorkweekPremium.objects.filter(**same, revision__gt=OuterRef("revision"))
    rows = WorkweekPremium.objects.filter(~Exists(later)).select_related("person", "posted_by")
    return rows.order_by("-week_start", "person__name", "id")


def workweek_get(actor: User, premium_id: UUID) -> WorkweekPremium:
    """Any revision."""
    costs_open_to(actor)
    found = WorkweekPremium.objects.select_related("person", "posted_by").filter(public_id=premium_id).first()
    if found is None:
        raise NotFound("There is no such workweek.")
    return found


@dataclass(frozen=True)
class WeekOpened:
    """A revision with all that is behind it: each line of the figuring, what each piece of work bears, the ledger rows
    that it posted, and the other revisions."""

    premium: WorkweekPremium
    figures: list[dict[str, Any]]
    parts: list[dict[str, Any]]
    rows: list[LedgerEntry]
    revisions: list[WorkweekPremium]

    @property
    def entry_ids(self) -> list[UUID]:
        return [row.public_id for row in self.rows]

    @property
    def is_standing(self) -> bool:
        return self.premium == self.revisions[0]


def workweek_open(actor: User, premium_id: UUID) -> WeekOpened:
    premium = workweek_get(actor, premium_id)
    told = premium.lines
    revisions = WorkweekPremium.objects.filter(person=premium.person, week_start=premium.week_start)
    return WeekOpened(
        premium=premium,
        figures=[line for line in told if line["kind"] == "figure"],
        parts=[line for line in told if line["kind"] == "part"],
        rows=list(premium_rows(premium).select_related("fund", "award", "reversed_by", "order")),
        revisions=list(revisions.select_related("posted_by").order_by("-revision")),
    )


def premium_rows(premium: WorkweekPremium) -> QuerySet[LedgerEntry]:
    """What a revision posted, taken back since or not."""
    named = [line["source_id"] for line in premium.lines if line["kind"] == "part"]
    rows = LedgerEntry.objects.filter(source_kind=SOURCE, source_id__in=named, revision=premium.revision)
    return rows.filter(reverses__isnull=True).order_by("id")
