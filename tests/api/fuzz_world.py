"""A program with something in every table, and the ids of what is there, for requests made at random."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from knox.models import AuthToken

from orders import flow
from orders.sites.models import Survey
from tests import build
from tests.api.scene import Scene, scene_build, stated

PLACES = 3  # of four: how often an id is one that exists


@dataclass
class FuzzWorld:
    """`ids` by the name of a path parameter or of a field of a body."""

    scene: Scene
    ids: dict[str, list[str]]
    headers: dict[str, str]

    def real(self, name: str, made_up: str) -> str:
        """Most ids become one that exists, chosen by the made-up one, so that the same run does the same."""
        known = self.ids.get(name, [])
        number = UUID(made_up).int
        return known[number // 4 % len(known)] if known and number % 4 < PLACES else made_up

    def place(self, case: Any, *, edits_as_read: bool) -> None:
        """Point a request at what exists; an edit names the version that stands, as often, where it may."""
        case.path_parameters = self.placed(case.path_parameters)
        case.body = self.placed(case.body)
        named = dict(case.headers or {}).get("If-Match")
        if edits_as_read and named is not None and len(named) % 4 < PLACES:
            case.headers["If-Match"] = "*"

    def placed(self, value: Any, name: str = "") -> Any:
        """The same value with ids that exist."""
        if isinstance(value, dict):
            return {key: self.placed(part, key) for key, part in value.items()}
        if isinstance(value, list):
            return [self.placed(part, name) for part in value]
        return self.real(name, value) if isinstance(value, str) and _is_id(value) else value


def _is_id(text: str) -> bool:
    try:
        return str(UUID(text)) == text.lower()
    except ValueError:
        return False


def fuzz_world_build() -> FuzzWorld:
    scene = scene_build()
    scene.issue()
    closed, book = _closed_order(scene), build.RateBookFactory(name="Second")
    loose = build.PrescriptionFactory(estimate__rate_book=book)
    draft = build.WorkOrderFactory(number=50, visits=[build.VisitFactory(prescriptions=[loose])])
    user = build.UserFactory(username="fuzz", roles=["administrator", "coordinator"])
    fund = build.AwardFactory().fund
    survey = Survey.objects.get(patch=scene.world.patch)
    rows = {
        "site_id": [scene.world.patch.site],
        "patch_id": [scene.world.patch, build.PatchFactory()],
        "survey_id": [survey, build.SurveyFactory()],
        "import_id": [build.SurveyImportFactory(state="done", errors=[_finding()]), build.SurveyImportFactory()],
        "book_id": [scene.prescription.estimate.rate_book, book],
        "estimate_id": [scene.prescription.estimate],
        "season_id": [scene.world.season],
        "prescription_id": [scene.prescription, loose],
        "run_id": [build.PlanRunFactory(state="done", season=scene.world.season), build.PlanRunFactory()],
        "order_id": [scene.order, closed, draft],
        "visit_id": [scene.visit],
        "product_id": [build.StockLotFactory().product],
        "notice_id": [build.NoticeFactory(user=user), build.NoticeFactory()],
    }
    rows |= {name.removesuffix("_id"): found for name, found in rows.items()}
    rows["surveys"] = rows["survey"]
    rows |= {"fund": [fund, scene.world.fund], "award": list(fund.awards.all()), "crew": [scene.other_crew]}
    rows |= {
        "lot": [build.StockLotFactory()],
        "person": [member.person for member in scene.world.crew.memberships.all()],
    }
    _fill(scene)
    ids = {name: [str(row.public_id) for row in found] for name, found in rows.items()}
    return FuzzWorld(scene, ids, {"Authorization": f"Token {AuthToken.objects.create(user)[1]}"})


def _closed_order(scene: Scene) -> Any:
    """Another order of the same crew, closed, with everything that a close-out can hold."""
    lot = build.StockLotFactory()
    survey = build.SurveyFactory(patch__site=scene.world.patch.site)
    flow.estimate_patches(surveys=[survey], on=scene.stamp().at.date(), stamp=scene.stamp())
    prescription = build.PrescriptionFactory(
        season=scene.world.season, patch=survey.patch, estimate=survey.estimates.order_by("id")[0], state="ordered"
    )
    visit = build.VisitFactory(
        season=scene.world.season,
        crew=scene.world.crew,
        site=scene.world.patch.site,
        prescriptions=[prescription],
        state="ordered",
    )
    order = build.WorkOrderFactory(
        number=49,
        season=scene.world.season,
        site=scene.world.patch.site,
        crew=scene.world.crew,
        state="issued",
        visits=[visit],
    )
    used = {"visit": str(visit.public_id), "lot": str(lot.public_id), "value": "0.5", "unit": "L"}
    statement = stated(order, percent=60, materials=[used], weather={"wind_m_s": 2.5})
    flow.close_order(order=order, statement=statement, stamp=scene.stamp("lead"))
    return order


def _finding() -> dict[str, Any]:
    return {"row": 1, "line": 3, "field": "cover_percent", "code": "invalid", "message": "Must be at most 100."}


def _fill(scene: Scene) -> None:
    """One of each that nothing else here made."""
    build.ClosureFactory(site=scene.world.patch.site)
    build.CalendarEventFactory(site=scene.world.patch.site)
    build.ChecklistAnswerFactory(site=scene.world.patch.site, question__code="water")
    build.QualificationFactory(person=scene.world.lead.person)
    build.LimitOverrideFactory(order=scene.order)
    build.DeadlineFactory(patch=scene.world.patch)
