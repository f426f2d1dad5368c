"""Funds of a season: what each may pay, where and until when, and which of them pays for a prescription.

One fund pays for a site; one without sites pays for all others. A window that reaches beyond the fund's days is cut
to them; one that lies wholly outside is paid by the fund that pays for the rest.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.changes import change_record, changes_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings, plain_values, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.models import Prescription, Season, SeasonFund
from orders.sites.models import Site

UNDECIDED = ("open", "planned")  # work that no order holds yet
EDITABLE = ("name", "budget_cents", "first_day", "last_day", "sites")


class FundInUse(WrongState):
    """Work that is ordered or done is paid by it."""

    code = "season_fund_in_use"
    title = "The fund is in use"


@dataclass(frozen=True)
class Paying:
    """Who pays for a window and what is left of it; `told` says what the fund's days did to it."""

    fund: SeasonFund | None
    first_day: date
    last_day: date
    told: str = ""


def season_funds(season: Season) -> list[SeasonFund]:
    """The season's funds with their sites, by code."""
    return list(SeasonFund.objects.filter(season=season).prefetch_related("sites").order_by("code"))


def fund_names(season: Season) -> dict[str, str]:
    """Names of the season's funds by code."""
    return {fund.code: fund.name for fund in season_funds(season)}


def fund_paying(site_id: int, first_day: date, last_day: date, funds: Iterable[SeasonFund]) -> Paying:
    """The site's own fund while it pays, else the one that pays for the rest; None: only the season's budget holds."""
    placed = [(fund, {site.pk for site in fund.sites.all()}) for fund in funds]
    own = [fund for fund, sites in placed if site_id in sites]
    passed = ""
    for fund in (*own, *(fund for fund, sites in placed if not sites)):
        first, last = max(first_day, fund.first_day or first_day), min(last_day, fund.last_day or last_day)
        if first <= last:
            cut = "" if (first, last) == (first_day, last_day) else f"Cut to the days that {fund.code} pays for."
            return Paying(fund, first, last, " ".join(filter(None, [passed, cut])))
        passed = f"{fund.code} does not pay on these days."
    return Paying(None, first_day, last_day, passed)


@writing()
def season_fund_add(
    *,
    season: Season,
    code: str,
    name: str,
    budget_cents: int,
    sites: Sequence[Site] = (),
    first_day: date | None = None,
    last_day: date | None = None,
    stamp: Stamp,
) -> SeasonFund:
    """Add a fund, and let it pay for what is asked for at its sites and has no fund yet."""
    fund = SeasonFund(
        season=season, code=code, name=name, budget_cents=budget_cents, first_day=first_day, last_day=last_day
    )
    found = Findings()
    found.need(not SeasonFund.objects.filter(season=season, code=code).exists(), "code", f"{code} is there already.")
    _fund_check(found, fund, sites)
    found.row(fund)
    found.refuse("The season's fund was not added.")
    fund.save(force_insert=True)
    fund.sites.set(sites)
    told = row_facts(fund) | {"sites": sorted(site.code for site in sites)}
    change_record(stamp=stamp, verb="season_fund_add", entity=fund, after=told)
    _funds_assign(season, Prescription.objects.filter(fund=None), stamp)
    return fund


@writing()
def season_fund_edit(*, fund: SeasonFund, values: Mapping[str, Any], expected: int, stamp: Stamp) -> SeasonFund:
    """Change its name, budget, days or sites. What it paid, and what no fund paid, is given out anew."""
    _known_only(values)
    columns = {name: value for name, value in values.items() if name != "sites"}
    sites = list(values.get("sites", fund.sites.all()))
    proposed = SeasonFund.objects.get(pk=fund.pk)
    for name, value in columns.items():
        setattr(proposed, name, value)
    found = Findings()
    _fund_check(found, proposed, sites)
    found.row(proposed)
    found.refuse("The season's fund was not changed.")
    old_sites = sorted(site.code for site in fund.sites.all())
    before = plain_values(version_bump(fund, expected=expected, **columns)) | {"sites": old_sites}
    fund.sites.set(sites)
    after = plain_values(columns) | {"sites": sorted(site.code for site in sites)}
    change_record(stamp=stamp, verb="season_fund_edit", entity=fund, before=before, after=after)
    asked = Prescription.objects.filter(fund=None) | Prescription.objects.filter(fund=fund)
    _funds_assign(fund.season, asked, stamp)
    return fund


@writing()
def season_fund_remove(*, fund: SeasonFund, expected: int, stamp: Stamp) -> None:
    """Take it out of the season; open work that it paid for goes to whoever pays then. The record says what it was."""
    paid = Prescription.objects.filter(fund=fund)
    held = paid.filter(state__in=["ordered", "done"]).count()
    if held:
        raise FundInUse(f"{fund.code} pays for {held} prescriptions that are ordered or done.")
    if not stamp.reason:
        raise Invalid("Say why it is removed.", [FieldError("reason", "is required", code="required")])
    version_bump(fund, expected=expected)
    change_record(stamp=stamp, verb="season_fund_remove", entity=fund, before=row_facts(fund))
    lost = list(paid.values_list("pk", flat=True))
    paid.update(fund=None)
    SeasonFund.objects.filter(pk=fund.pk).delete()
    _funds_assign(fund.season, Prescription.objects.filter(pk__in=lost), stamp)


@writing()
def prescription_fund_set(
    *, prescription: Prescription, fund: SeasonFund | None, stamp: Stamp, expected_version: int | None = None
) -> Prescription:
    """Say by hand who pays. The window is cut to the fund's days; None: only the season's budget holds."""
    if prescription.state not in UNDECIDED:
        raise WrongState(f"{prescription} is {prescription.get_state_display().lower()}: its fund stays.")
    values: dict[str, Any] = {"fund": fund}
    if fund is not None:
        values |= _by_hand(prescription, fund)
    before = plain_values(version_bump(prescription, expected=expected_version, **values))
    after = plain_values(values)
    change_record(stamp=stamp, verb="prescription_fund_set", entity=prescription, before=before, after=after)
    return prescription


def _by_hand(prescription: Prescription, fund: SeasonFund) -> dict[str, Any]:
    if fund.season_id != prescription.season_id:
        raise Invalid("The fund is of another season.", [FieldError("fund", "is of another season")])
    first = max(prescription.first_day, fund.first_day or prescription.first_day)
    last = min(prescription.last_day, fund.last_day or prescription.last_day)
    if last < first:
        message = f"does not pay on any day from {prescription.first_day} to {prescription.last_day}"
        raise Invalid("The fund does not pay then.", [FieldError("fund", message)])
    if (first, last) == (prescription.first_day, prescription.last_day):
        return {}
    because = f"{prescription.window_because} Cut to the days that {fund.code} pays for."
    return {"first_day": first, "last_day": last, "window_because": because.strip()}


def _known_only(values: Mapping[str, Any]) -> None:
    unknown = [FieldError(name, "cannot be changed") for name in values if name not in EDITABLE]
    if unknown:
        raise Invalid("The season's fund was not changed.", unknown)


def _fund_check(found: Findings, fund: SeasonFund, sites: Sequence[Site]) -> None:
    """A site has one fund in a season, and one fund at most pays for the rest."""
    found.money(fund.budget_cents, "budget_cents")
    if fund.first_day is not None:
        found.days_in_order(fund.first_day, fund.last_day)
    for other in season_funds(fund.season):
        if other.pk == fund.pk:
            continue
        theirs = {site.code for site in other.sites.all()}
        shared = sorted(theirs & {site.code for site in sites})
        found.need(not shared, "sites", f"{', '.join(shared)}: {other.code} pays there.")
        found.need(
            bool(sites or theirs), "sites", f"{other.code} pays for all other sites: name the sites of this one."
        )


def _funds_assign(season: Season, asked: Any, stamp: Stamp) -> None:
    """Give each open prescription of these the fund that pays for it now, with one record for each that changed."""
    funds = season_funds(season)
    rows = asked.filter(season=season, state__in=UNDECIDED).select_related("patch").order_by("id")
    written = []
    for row in rows:
        paying = fund_paying(row.patch.site_id, row.first_day, row.last_day, funds)
        if paying.fund == row.fund and (paying.first_day, paying.last_day) == (row.first_day, row.last_day):
            continue
        values: dict[str, Any] = {"fund": paying.fund, "first_day": paying.first_day, "last_day": paying.last_day}
        if paying.told and paying.told not in row.window_because:
            values["window_because"] = f"{row.window_because} {paying.told}".strip()
        version_bump(row, expected=None, **values)
        written.append((row, plain_values(values)))
    changes_record(stamp=stamp, verb="prescription_fund_set", written=written)
