"""The terms on which work is asked for: its days, who pays, and the seed deadline that it meets."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from estimating.inputs import GROWTH_FORMS
from estimating.timing import SeedFacts, carries_deadline
from orders.estimates.convert import ANSWERS
from orders.estimates.models import Method
from orders.planning.funds import fund_paying, season_funds
from orders.planning.models import SeasonFund
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Survey


@dataclass(frozen=True)
class Terms:
    """What a prescription is asked for with, in its own columns."""

    first_day: date
    last_day: date
    window_because: str
    fund: SeasonFund | None
    seed_due_on: date | None


class SeasonTerms:
    """Terms in one season; its funds are read once."""

    def __init__(self, windows: SeasonWindows) -> None:
        self.windows = windows

    @cached_property
    def funds(self) -> list[SeasonFund]:
        return season_funds(self.windows.season)

    def terms(self, survey: Survey, method: Method, days: Days, *, stops_seed: bool = True) -> Terms:
        """`stops_seed` is of first work: what follows it comes after the fruit was dealt with."""
        paying = fund_paying(survey.patch.site_id, days.first, days.last, self.funds)
        because = f"{days.because} {paying.told}".strip()
        due = self.seed_due_on(survey, method, paying.first_day) if stops_seed else None
        return Terms(paying.first_day, paying.last_day, because, paying.fund, due)

    def seed_due_on(self, survey: Survey, method: Method, first_day: date) -> date | None:
        """The deadline that work from a day on can still meet, for a method that takes the fruit or the fruiting stem
        away."""
        if not _stops_seed(survey, method):
            return None
        deadline = self.windows.seed_due(survey)
        return deadline.due if deadline is not None and first_day <= deadline.due else None


def _stops_seed(survey: Survey, method: Method) -> bool:
    """It treats a form here that fruits, or may, and leaves neither fruit nor stem as it was."""
    said = method.facts
    if "yes" not in (said.get("removes_fruit"), said.get("treats_stems")):
        return False
    forms = str(said.get("growth_forms", "")).split("|")
    return any(
        row.growth_form.code in forms
        and carries_deadline(
            SeedFacts(growth_form=GROWTH_FORMS.index(row.growth_form.code), fertile=ANSWERS[row.fertile])
        )
        for row in survey.components.all()
    )
