"""What the walk shows beside the main job: the second rate book, a choice in bulk and its undo, and what a season of
closed orders teaches about the rates."""

from dataclasses import replace

from orders import flow
from orders.calibration.convert import calibration_read, proposed
from orders.calibration.models import CalibrationRun
from orders.calibration.services import calibration_ask, calibration_draft_book
from orders.common.errors import Refusal
from orders.common.tasks import run_work
from orders.desk.demo.scene import Walk
from orders.planning.choosing import choice_batch_undo
from orders.planning.models import Season
from orders.planning.preview import ChoiceAsk, ChoiceRow
from orders.reports.accuracy import accuracy_report
from orders.sites.models import Patch

MOWED_SITE, MOWED_BY, WHY_MOWED = "SORREL", "mow-mulch", "The county lends its mower in March."


def estimate_volunteers(steps: Walk) -> None:
    """The same patches by the volunteers' rate book: fewer methods, a slower pace, no license."""
    made = flow.estimate_patches(on=steps.at.date(), crew_kind="volunteers", stamp=steps.stamp("coordinator"))
    methods = ", ".join(sorted({row.method.name for row in made}))
    steps.tell(f"           {len(made)} more by the volunteers' rate book: {methods}")


def choose_and_undo(steps: Walk) -> None:
    """One method for every patch of a site: looked at, done, and put back as it was."""
    patches = list(Patch.objects.filter(site__code=MOWED_SITE).order_by("code"))
    ask = ChoiceAsk(season=Season.objects.get(), method=MOWED_BY, patches=patches, why=WHY_MOWED)
    shown = flow.preview_choices(ask=ask, on=steps.at.date())
    steps.tell(
        f"Choose     mowing on all of {MOWED_SITE}, looked at first: {len(shown.new)} patches would change, "
        f"{shown.hours_sum:,.0f} h; {len(shown.refused)} refused, such as {_first_refused(shown.refused)}"
    )
    batch = flow.choose_methods(
        ask=ask, on=steps.at.date(), fingerprint=shown.fingerprint, stamp=steps.stamp("coordinator")
    )
    choice_batch_undo(batch=batch, stamp=replace(steps.stamp("coordinator"), reason="The mower is promised elsewhere."))
    steps.tell("           chosen in one write, and undone: the season is as it was")


def _first_refused(rows: tuple[ChoiceRow, ...]) -> str:
    return f"{rows[0].line.patch}: {rows[0].refused}" if rows else "none"


def learn(steps: Walk) -> None:
    """Closed orders against their estimates, and a draft rate book for a person to look at. Nothing is put in force."""
    season = Season.objects.get()
    run = calibration_ask(season=season, stamp=steps.stamp("coordinator"))
    run_work(str(run.public_id))
    run = CalibrationRun.objects.get(pk=run.pk)
    if run.state != "done" or run.result is None:
        raise Refusal(f"The calibration ended {run.state}: {run.error}")
    found = calibration_read(run.result)
    _accuracy_told(steps, season)
    for row in found.methods:
        figure = f"x{row.ratio:.2f} ({row.low:.2f} to {row.high:.2f})"
        words = f"{figure}, {len(row.orders)} orders" if row.enough else row.reason
        steps.tell(f"           {row.method}: {words}")
    for wild in (row for row in found.weights if row.wild):
        steps.tell(f"           order {wild.order} took x{wild.ratio:.2f} and counts with weight {wild.weight:.2f}")
    changes = len(proposed(run).changes)
    book = calibration_draft_book(run=run, stamp=steps.stamp("coordinator"))
    steps.tell(f"           drafted: {book}, {changes} rates would change; a person looks at it and decides")


def _accuracy_told(steps: Walk, season: Season) -> None:
    whole = accuracy_report(actor=steps.user("coordinator"), season=season).overall
    if whole is None:
        raise Refusal("No closed order has measured hours; the demo's season has many.")
    steps.tell(
        f"Learn      {whole.orders} closed orders took {whole.bias:.2f} times their estimates; "
        f"{whole.inside_share:.0%} ended within low to high (promised: 80%)"
    )
