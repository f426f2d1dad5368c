"""A program with something in every table, and the ids of what is there, for requests made at random."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4
from zlib import crc32

from knox.models import AuthToken

from orders import flow
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import demand
from orders.planning.models import PlanRun
from orders.sites.models import Survey
from orders.workorders.models import WorkOrder
from tests import build
from tests.api.scene import Scene, scene_build, stated, statement
from tests.flow.world import REFERENCE

PLACES = 3  # of four: how often a value becomes one that means something here
PASSWORD = "an invented phrase"


@dataclass
class FuzzWorld:
    """`ids` by the name of a path parameter or of a field of a body; `usual` are other values that mean something."""

    scene: Scene
    ids: dict[str, list[str]]
    usual: dict[str, Any]
    headers: dict[str, str]

    def place(self, case: Any, *, is_right: bool) -> None:
        """Point a request at what exists; where it is a right one, let it say what means something, and edit what
        stands. What becomes of a value follows from the value, so that the same run does the same."""
        case.path_parameters = self._placed(case.path_parameters, is_right=is_right)
        case.body = self._placed(case.body, is_right=is_right)
        named = dict(case.headers or {}).get("If-Match")
        if is_right and named is not None and _often(named):
            case.headers["If-Match"] = "*"

    def _placed(self, value: Any, name: str = "", *, is_right: bool) -> Any:
        if is_right and name in self.usual and _often(value):
            return self.usual[name]
        if isinstance(value, dict):
            return {key: self._placed(part, key, is_right=is_right) for key, part in value.items()}
        if isinstance(value, list):
            return [self._placed(part, name, is_right=is_right) for part in value]
        return self._real(name, value) if isinstance(value, str) and _is_id(value) else value

    def _real(self, name: str, made_up: str) -> str:
        known = self.ids.get(name, [])
        return known[UUID(made_up).int % len(known)] if known and _often(made_up) else made_up


def _often(value: Any) -> bool:
    return crc32(repr(value).encode(errors="replace")) % 4 < PLACES


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
        "run_id": [_planned(scene), build.PlanRunFactory()],
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
    _fill(scene, draft)
    ids = {name: [str(row.public_id) for row in found] for name, found in rows.items()}
    return FuzzWorld(scene, ids, _usual(scene, ids), {"Authorization": f"Token {AuthToken.objects.create(user)[1]}"})


def _usual(scene: Scene, ids: dict[str, list[str]]) -> dict[str, Any]:
    said = statement(scene.order)
    shares = [{"fund": ids["fund"][0], "share_e4": 10_000}]
    return {
        **{name: said[name] for name in ("outcomes", "times")},
        "materials": [{"visit": said["times"][0]["visit"], "lot": ids["lot"][0], "value": "0.25", "unit": "L"}],
        **{"shares": shares, "funding": shares, "first_day": "2027-01-11", "last_day": "2027-03-12"},
        **{"question": "water", "amount": "1.5", "unit": "L", "username": "lead", "password": PASSWORD},
        "csv": (REFERENCE / "rate_book.csv").read_text(),
    }


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
    said = stated(order, percent=60, materials=[used], weather={"wind_m_s": 2.5})
    flow.close_order(order=order, statement=said, stamp=scene.stamp("lead"))
    return order


def _planned(scene: Scene) -> PlanRun:
    """A finished plan that can be accepted, with one visit."""
    season = scene.world.season
    asked = demand(season, rate_book_in_force())
    run = build.PlanRunFactory(
        state="done", season=season, inputs_fingerprint=asked.fingerprint, left_out=[_left_out()]
    )
    build.VisitFactory(plan_run=run, season=season, state="proposed")
    return run


def _left_out() -> dict[str, Any]:
    what = {"prescription": str(uuid4()), "patch": "KF H-01", "method": "Cutting", "hours": 12.5}
    return {**what, "constraint": "window", "because": "No crew is free in the window."}


def _finding() -> dict[str, Any]:
    return {"row": 1, "line": 3, "field": "cover_percent", "code": "invalid", "message": "Must be at most 100."}


def _fill(scene: Scene, draft: WorkOrder) -> None:
    """One of each that nothing else here made."""
    build.ClosureFactory(site=scene.world.patch.site)
    build.CalendarEventFactory(site=scene.world.patch.site)
    question = build.ChecklistQuestionFactory(code="water")
    for site in (scene.world.patch.site, draft.site):
        build.ChecklistAnswerFactory(site=site, question=question)
    build.OrderFundingFactory(order=draft, fund=scene.world.fund)
    scene.world.lead.set_password(PASSWORD)
    scene.world.lead.save()
    build.QualificationFactory(person=scene.world.lead.person)
    build.LimitOverrideFactory(order=scene.order)
    build.DeadlineFactory(patch=scene.world.patch)
