"""Plans, visits, windows, load and cost of a season as lines of text."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from estimating.units import acres
from orders.desk.table import table_lines
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanRun, Visit
from orders.planning.moving import Break
from orders.planning.season_course import CostWeek, CrewWeek
from orders.planning.window_list import WindowLine

COMPARED = ("acres", "deadlines", "cost $", "hours", "visits", "left out")


def run_lines(run: PlanRun) -> Iterator[str]:
    """What became of it, its figures, who pays, what moved, what was left out."""
    yield f"run {run.public_id}: {run.state}, {run.get_purpose_display().lower()}{_titled(run)}{_stopped(run)}"
    figures = PlanFigures.of(run)
    if figures is None:
        return
    yield from compared_lines([figures])
    yield _quality(run)
    for fund in run.funds:
        yield (
            f"{fund['name'] or fund['fund'] or 'budget'}: ${_dollars(fund['cost_cents'])} of "
            f"${_dollars(fund['budget_cents'])}, {fund['chance_over']:.0%} chance to need more"
        )
    for moved in run.moved:
        yield f"moved: {moved['patch']}, {_place(moved, 'old')} -> {_place(moved, 'new')}"
    yield from (f"fault: {fault}" for fault in run.faults)
    yield from left_out_lines(run)


def _titled(run: PlanRun) -> str:
    return f" ({run.title})" if run.title else ""


def _stopped(run: PlanRun) -> str:
    return ", stopped early: the best by then" if run.was_stopped else ""


def _quality(run: PlanRun) -> str:
    """How good it is: against its start, and against what no plan can beat."""
    start, lost, bound = (
        "unknown" if cents is None else f"${_dollars(cents)}"
        for cents in (run.start_lost_cents, run.lost_cents, run.bound_cents)
    )
    return f"lost: {lost} (first plan {start}, no plan below {bound})"


def _place(moved: dict[str, str | None], when: str) -> str:
    return f"{moved[f'{when}_day']} {moved[f'{when}_crew']}" if moved[f"{when}_day"] else "no visit"


def left_out_lines(run: PlanRun) -> Iterator[str]:
    """Each with what kept it out and the cheapest change that lets it in."""
    for left in run.left_out:
        yield f"left out: {left['patch']}, {left['method']}, {left['hours']:.1f} h: {left['because']}{_help(left)}"


def _help(left: dict[str, str | int]) -> str:
    if not left.get("would_help"):
        return ""
    cost = int(left.get("change_cents") or 0)
    return f" Would help: {left['would_help']}" + (f" (${_dollars(cost)})" if cost else "")


def compared_lines(plans: Sequence[PlanFigures]) -> Iterator[str]:
    """One line a plan."""
    rows = [
        (
            figures.run.title or figures.run.get_purpose_display(),
            f"{acres(figures.area_m2):,.1f}",
            f"{figures.deadlines_met} of {figures.deadlines_owed}",
            _dollars(figures.cost_cents),
            f"{figures.person_hours:,.0f}",
            f"{figures.visits}",
            f"{figures.left_out}",
        )
        for figures in plans
    ]
    return table_lines(("plan", *COMPARED), rows)


def why_lines(visits: Iterable[Visit]) -> Iterator[str]:
    """Each visit with what it serves and why it is there."""
    for visit in visits:
        served = ", ".join(
            f"{share.prescription.patch.code} {share.prescription.method}" for share in visit.shares.all()
        )
        yield f"{visit.day} {visit.crew}: {served}, {visit.get_state_display().lower()}"
        if visit.is_kept:
            yield f"  Kept there by hand{f': {visit.kept_because}' if visit.kept_because else '.'}"
        yield from (f"  {sentence}" for sentence in visit.because)


def break_lines(breaks: Iterable[Break]) -> Iterator[str]:
    for found in breaks:
        yield f"{'refused' if found.is_hard else 'breaks'}: {found.kind}: {found.words}"


def window_lines(row: WindowLine) -> Iterator[str]:
    """Every open window with why it opens and closes; where there is none, why not."""
    named = f"{row.line.patch} {row.method.code}"
    for window in row.windows:
        days = f"{window.opens} to {window.closes}, {window.days} days"
        yield f"{named}: {days}. Opens: {window.opens_because}. Closes: {window.closes_because}."
    if not row.windows:
        yield f"{named}: no window. {' '.join(row.report.notes)}"
    if row.seed is not None:
        yield f"  Seed deadline {row.seed.due}: {row.seed.because}."


def load_lines(weeks: Sequence[CrewWeek]) -> Iterator[str]:
    """A line a week, a column a crew: hours of what its days leave."""
    crews = list(dict.fromkeys(week.crew.name for week in weeks))
    cells: dict[date, dict[str, str]] = defaultdict(dict)
    for week in weeks:
        cells[week.monday][week.crew.name] = f"{week.hours:,.0f} of {week.capacity_hours:,.0f}"
    rows = [(f"{monday}", *(row[crew] for crew in crews)) for monday, row in sorted(cells.items())]
    return table_lines(("week of", *crews), rows)


def course_lines(weeks: Sequence[CostWeek], budget_cents: int | None) -> Iterator[str]:
    """What the work comes to up to the end of each week, with its range."""
    rows = [
        (f"{week.monday}", *(_dollars(cents) for cents in (week.low_cents, week.likely_cents, week.high_cents)))
        for week in weeks
    ]
    yield from table_lines(("week of", "low $", "likely $", "high $"), rows)
    if budget_cents is not None:
        yield f"budget: ${_dollars(budget_cents)}"


def _dollars(cents: float) -> str:
    return f"{cents / 100:,.0f}"
