"""Chains of treatment: what comes after a piece of work becomes a dated prescription of its own.

A rule says which method follows which, how many days later at least and at most, and how much of that method's
estimate on the same survey it takes. Rules of one purpose after one step are alternatives: the one whose method is
recommended on the patch, else the first by code that can be estimated there; of those that the season has a license
and a mix for, where it has them for any. "Again" repeats the method that was checked. A step whose days lie after the
season is not made in it; `later_steps` tells it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from django.db.models import Max, QuerySet

from orders.common.changes import change_record, version_bump
from orders.common.rows import plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import Estimate, Method
from orders.estimates.selectors import methods
from orders.estimates.services import survey_suitability
from orders.planning.chain_ends import End, ends_of, root_of
from orders.planning.chain_lags import Lag, days_after, lag_after
from orders.planning.chain_links import most_lag_days
from orders.planning.doable import Doable
from orders.planning.models import ChainRule, Prescription, Season
from orders.planning.recommending import methods_recommended
from orders.planning.selectors import estimates_wanted, follow_ups_open
from orders.planning.services import prescription_add, prescription_drop
from orders.planning.terms import SeasonTerms, Terms
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Survey


@dataclass(frozen=True)
class LaterStep:
    """A step that no prescription stands for: when it comes by its lag alone, and why it is not there."""

    follows: Prescription
    rule: ChainRule
    purpose: str
    method: Method
    first_day: date
    last_day: date
    because: str


class _Chains:
    """The active rules, and what a batch of prescriptions needs to apply them; each is read once."""

    def __init__(self, firsts: Sequence[Prescription], season: Season) -> None:
        self.firsts = firsts
        self.season = season
        self.ends = ends_of(firsts)

    @cached_property
    def rules(self) -> Mapping[tuple[int, str], Mapping[str, list[ChainRule]]]:
        """Alternatives by purpose, by the step that they come after."""
        found: dict[tuple[int, str], dict[str, list[ChainRule]]] = defaultdict(dict)
        used = ChainRule.objects.filter(is_active=True, method__is_active=True)
        rows = used.select_related("after", "method").order_by("code")
        for rule in rows:
            found[rule.after_id, rule.after_purpose].setdefault(rule.purpose, []).append(rule)
        return found

    @cached_property
    def surveys(self) -> dict[int, Survey]:
        rows = Survey.objects.filter(pk__in={first.estimate.survey_id for first in self._ruled})
        rows = rows.select_related("patch__site__jurisdiction").order_by("patch__site__code", "patch__code")
        found = rows.prefetch_related("components__species", "components__growth_form")
        return {survey.pk: survey for survey in found}

    @cached_property
    def estimates(self) -> dict[tuple[int, str], Estimate]:
        return estimates_wanted(
            {(first.estimate.survey_id, rule.method.code) for first, rules in self.steps() for rule in rules}
        )

    @cached_property
    def recommended(self) -> set[tuple[int, str]]:
        surveys = list(self.surveys.values())
        suited = survey_suitability(surveys, {})
        return {(surveys[row].pk, code) for row, code in methods_recommended(surveys, suited)}

    @cached_property
    def doable(self) -> Doable:
        return Doable(self.season, {row.code: row for row in methods()})

    @property
    def _ruled(self) -> list[Prescription]:
        return [first for first in self.firsts if (first.method_id, first.purpose) in self.rules]

    def steps(self) -> Iterable[tuple[Prescription, list[ChainRule]]]:
        """Each first with the alternatives of each purpose that follows it there."""
        for first in self._ruled:
            for rules in self.rules[first.method_id, first.purpose].values():
                fitting = [rule for rule in rules if self._applies(rule, first)]
                if fitting:
                    yield first, fitting

    def _applies(self, rule: ChainRule, first: Prescription) -> bool:
        checked = first.follows
        if rule.purpose == "again" and first.purpose == "check":
            return checked is not None and checked.method_id == rule.method_id
        if rule.species == "any":
            return True
        return (rule.species == "resprouts") == self._resprouts(first)

    def _resprouts(self, first: Prescription) -> bool:
        """Whether something that the method treats on this survey comes back from its roots."""
        forms = str(first.method.facts.get("growth_forms", "")).split("|")
        rows = self.surveys[first.estimate.survey_id].components.all()
        return any(row.species.resprouts for row in rows if row.growth_form.code in forms)

    def chosen(self, first: Prescription, rules: Sequence[ChainRule]) -> tuple[ChainRule, Estimate] | None:
        """The alternative that is taken with its estimate; None where none can be estimated."""
        survey = self.surveys[first.estimate.survey_id]
        made = [(rule, made) for rule in rules if (made := self.estimates.get((survey.pk, rule.method.code)))]
        if survey.voided_at is not None or not made:
            return None
        if len(made) == 1:
            return made[0]
        can_be_done = [one for one in made if not self.doable.why_not(one[0].method.code, survey.patch.site)] or made
        return next((one for one in can_be_done if (survey.pk, one[0].method.code) in self.recommended), can_be_done[0])


@writing()
def follow_ups_prescribe(
    *, season: Season, windows: SeasonWindows, firsts: Sequence[Prescription] | None = None, stamp: Stamp
) -> list[Prescription]:
    """Ask for what follows the season's work and the done work of earlier seasons, where it is not asked for yet.

    `firsts` narrows it to what follows these. Each step is asked for once a season; one that was dropped in it stays
    dropped. What follows a new follow-up is asked for too.
    """
    terms = SeasonTerms(windows)
    made: list[Prescription] = []
    waiting = _firsts(season) if firsts is None else list(firsts)
    while waiting:
        waiting = _after(waiting, season, terms, stamp)
        made += waiting
    return made


def _firsts(season: Season) -> list[Prescription]:
    """What can be followed: what stands in the season, and what was done before it within the longest lag."""
    whole = Prescription.objects.exclude(origin="remainder").exclude(state="dropped")
    longest = ChainRule.objects.filter(is_active=True).aggregate(days=Max("most_days"))["days"] or 0
    since = season.first_day - timedelta(days=longest)
    earlier = whole.filter(state="done", season__last_day__lt=season.first_day, last_day__gte=since)
    return list(_read(whole.filter(season=season) | earlier))


def _read(rows: QuerySet[Prescription]) -> QuerySet[Prescription]:
    heavy = ("estimate__inputs", "estimate__result", "estimate__products_ul")
    return rows.select_related("method", "estimate", "follows", "season", "patch").defer(*heavy).order_by("id")


def _after(firsts: Sequence[Prescription], season: Season, terms: SeasonTerms, stamp: Stamp) -> list[Prescription]:
    chains = _Chains(firsts, season)
    answered = _answered(firsts, season)
    made = []
    for first, rules in chains.steps():
        taken = chains.chosen(first, rules)
        if taken is None or (first.pk, taken[0].purpose) in answered:
            continue
        rule, estimate = taken
        survey = chains.surveys[estimate.survey_id]
        end = chains.ends[first.pk]
        lag = lag_after(first, estimate, rule.least_days, rule.most_days, end)
        days = days_after(lag, end, survey, rule.method.code, terms.windows)
        if days is not None:
            agreed = terms.terms(survey, rule.method, days, stops_seed=False)
            made.append(_follow_up_add(first, rule, lag, estimate, agreed, season, stamp))
    return made


def _answered(firsts: Sequence[Prescription], season: Season) -> set[tuple[int, str]]:
    """Steps that stand, or were dropped in this season: nobody wants those asked for anew."""
    rows = Prescription.objects.filter(origin="follow_up", follows__in=firsts)
    standing = rows.exclude(state="dropped") | rows.filter(season=season)
    return {(follows or 0, purpose) for follows, purpose in standing.values_list("follows_id", "purpose")}


def _follow_up_add(
    first: Prescription, rule: ChainRule, lag: Lag, estimate: Estimate, agreed: Terms, season: Season, stamp: Stamp
) -> Prescription:
    return prescription_add(
        season=season,
        estimate=estimate,
        first_day=agreed.first_day,
        last_day=agreed.last_day,
        window_because=agreed.window_because,
        why=_why(first, rule),
        stamp=stamp,
        origin="follow_up",
        follows=first,
        chain_rule=rule,
        purpose=rule.purpose,
        least_lag_days=lag.least_days,
        most_lag_days=lag.most_days,
        share_left=rule.share,
        fund=agreed.fund,
    )


def _why(first: Prescription, rule: ChainRule) -> str:
    days = f"{rule.least_days} to {rule.most_days} days after {first.method.name}"
    return f"{rule.get_purpose_display()}, {days}. {rule.source}"


def later_steps(prescription: Prescription) -> list[LaterStep]:
    """Steps after a prescription that nothing stands for, with why: after the season, or not possible here."""
    root = root_of(prescription)
    chains = _Chains([root], root.season)
    rows = Prescription.objects.filter(origin="follow_up", follows=root)
    stands = set(rows.exclude(state="dropped").values_list("purpose", flat=True))
    dropped = set(rows.filter(state="dropped").values_list("purpose", flat=True))
    return [
        _later(chains, root, rules, rules[0].purpose in dropped)
        for _, rules in chains.steps()
        if rules[0].purpose not in stands
    ]


def _plain(rule: ChainRule) -> Lag:
    return Lag(rule.least_days, rule.most_days)


def _later(chains: _Chains, first: Prescription, rules: Sequence[ChainRule], was_dropped: bool) -> LaterStep:
    taken = chains.chosen(first, rules)
    rule = taken[0] if taken else rules[0]
    end, season = chains.ends[first.pk], first.season
    lag = lag_after(first, taken[1], rule.least_days, rule.most_days, end) if taken else _plain(rule)
    earliest, latest = lag.earliest(end), lag.latest(end)
    if taken is None:
        names = ", ".join(one.method.name for one in rules)
        because = f"Not possible yet: there is no estimate of {names} on this survey."
    elif earliest > season.last_day:
        because = f"Comes after season {season}. {lag.words(end)}"
    elif was_dropped:
        because = f"It was dropped in season {season}."
    else:
        because = f"No window of {rule.method.name} is open in season {season} from {earliest} on."
    return LaterStep(first, rule, rule.get_purpose_display(), rule.method, earliest, latest, because)


@writing()
def follow_ups_date(
    *, prescription: Prescription, done_on: date, windows: SeasonWindows, stamp: Stamp
) -> list[Prescription]:
    """After work is done: date what follows it, and is on no order, from the real day.

    While a part of it is still to be done nothing changes. A step that no longer falls in the season is dropped, with
    the reason; `later_steps` tells it from then on. Returns what was changed.
    """
    root = root_of(prescription)
    end = ends_of([root], {prescription.pk: done_on})[root.pk]
    return _redate(root, end, SeasonTerms(windows), stamp) if end.is_real else []


def follow_ups_renew(*, first: Prescription, terms: SeasonTerms, stamp: Stamp) -> list[Prescription]:
    """After the days of work have changed: date what follows it, and is on no order, anew. Returns what was changed."""
    return _redate(first, ends_of([first])[first.pk], terms, stamp)


def _redate(first: Prescription, end: End, terms: SeasonTerms, stamp: Stamp) -> list[Prescription]:
    changed = []
    for row in _read(follow_ups_open([first]).filter(season=terms.windows.season)):
        survey = row.estimate.survey
        lag = lag_after(first, row.estimate, row.least_lag_days or 0, most_lag_days(row), end)
        days = days_after(lag, end, survey, row.method.code, terms.windows)
        if days is None:
            after = f"was done on {end.earliest}" if end.is_real else f"from {end.earliest} on"
            reason = f"After {first.method} {after} it no longer falls in season {row.season}."
            prescription_drop(prescription=row, stamp=stamp.because(reason))
            changed.append(row)
            continue
        if _moved(row, survey, days, terms, stamp):
            changed.append(row)
            changed += _redate(row, End(row.first_day, row.last_day, False), terms, stamp)
    return changed


def _moved(row: Prescription, survey: Survey, days: Days, terms: SeasonTerms, stamp: Stamp) -> bool:
    agreed = terms.terms(survey, row.method, days, stops_seed=False)
    values = {
        "first_day": agreed.first_day,
        "last_day": agreed.last_day,
        "window_because": agreed.window_because,
        "fund": agreed.fund,
    }
    if all(getattr(row, name) == value for name, value in values.items()):
        return False
    before = plain_values(version_bump(row, expected=None, **values))
    change_record(stamp=stamp, verb="follow_up_date", entity=row, before=before, after=plain_values(values))
    return True
