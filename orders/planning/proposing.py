"""The visits that a plan proposes: one for each crew, day and site, with why it is there.

A plan made again proposes only what changes: new visits, and one for each new place of a standing visit's parts, which
names that visit as the one it replaces. Parts that stay while others of their visit move are proposed where they are.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from estimating.plan import Assignment, Plan
from orders.planning.convert import Demand, Need
from orders.planning.models import PlanRun, Visit, VisitShare

MOST_SENTENCES = 8
DAY = r"[A-Z][a-z]{2} \d{1,2}(?:, \d{4})?"
LINKS_ALIKE = re.compile(rf"(?P<link>; [^;]+?) \((?:{DAY})\)(?:(?P=link) \((?:{DAY})\))+")
Place = tuple[date, str, int, int]  # day, crew, site, the visit that it replaces or 0


def visits_propose(run: PlanRun, asked: Demand, plan: Plan, because: Mapping[str, tuple[str, ...]]) -> None:
    """Called once, by the run's job, while it finishes."""
    stay = _that_stay(asked, plan)
    grouped: dict[Place, list[Need]] = defaultdict(list)
    for entry in plan.assignments:
        need = asked.needs[entry.visit]
        if entry.visit not in asked.fixed and (need.visit is None or need.visit.pk not in stay):
            grouped[_place(entry, need)].append(need)
    for (day, crew, site_id, _), needs in sorted(grouped.items(), key=lambda item: item[0]):
        visit = Visit.objects.create(
            plan_run=run,
            season=run.season,
            crew=asked.crews[crew],
            site_id=site_id,
            day=day,
            because=_sentences(asked, needs, because),
            replaces=needs[0].visit,
        )
        _shares_add(visit, needs)


def _place(entry: Assignment, need: Need) -> Place:
    return entry.day, entry.crew, need.prescription.patch.site_id, need.visit.pk if need.visit else 0


def _that_stay(asked: Demand, plan: Plan) -> set[int]:
    """Visits of which every part stays where it is."""
    moved = {visit.pk for key in plan.moved if (visit := asked.needs[key].visit)}
    return {visit.pk for key in asked.previous if (visit := asked.needs[key].visit)} - moved


def _sentences(asked: Demand, needs: Iterable[Need], because: Mapping[str, tuple[str, ...]]) -> list[str]:
    """What is said of all that the visit serves as it is; the rest with the patches that it is said of."""
    patches: dict[str, list[str]] = defaultdict(list)
    served = set()
    for need in needs:
        patch = str(need.prescription.patch)
        served.add(patch)
        for text in because.get(need.visit_id, ()):
            words = links_joined(asked.words(text))
            if patch not in patches[words]:
                patches[words].append(patch)
    said = [text if len(of) == len(served) else f"{', '.join(of)}: {text}" for text, of in patches.items()]
    return said[:MOST_SENTENCES]


def links_joined(text: str) -> str:
    """Lags to visits that people call by the same name are told once, with their days."""
    return LINKS_ALIKE.sub(_joined, text)


def _joined(found: re.Match[str]) -> str:
    days = list(dict.fromkeys(re.findall(rf"\(({DAY})\)", found[0])))
    return f"{found['link']} ({', '.join(days)})"


def _shares_add(visit: Visit, needs: list[Need]) -> None:
    by_prescription: dict[int, list[Need]] = defaultdict(list)
    for need in needs:
        by_prescription[need.prescription.pk].append(need)
    VisitShare.objects.bulk_create(
        VisitShare(
            visit=visit,
            prescription=pieces[0].prescription,
            planned_hours=sum(piece.hours for piece in pieces),
            share=min(1.0, sum(piece.share for piece in pieces)),
        )
        for _, pieces in sorted(by_prescription.items())
    )
