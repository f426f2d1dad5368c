"""A program with something in every table, and the ids of what is there, for requests made at random."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4
from zlib import crc32

from django.conf import settings
from knox.models import AuthToken

from orders import flow
from orders.calibration.models import CalibrationRun
from orders.common.runs import run_claim, run_perform
from orders.costs.models import ACCOUNTS, Fund
from orders.estimates.models import Estimate
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import demand
from orders.planning.models import PlanRun
from orders.reports.models import ExportRun
from orders.sites.models import Survey
from orders.sites.services import patches_edit
from orders.workorders.models import Photo, WorkOrder
from orders.workorders.photos import photo_path
from tests import build
from tests.api.scene import Scene, scene_build, stated, statement
from tests.flow.world import REFERENCE

PLACES = 3  # of four: how often a value becomes one that means something here
NOTHING: Mapping[str, Any] = {}
PASSWORD = "an invented phrase"
TABLET = "an-invented-token"


@dataclass
class FuzzWorld:
    """`ids` by the name of a path parameter or of a field of a body; `usual` are other values that mean something, by
    the order that the request is about, else of the first; `told` are those of one address alone."""

    ids: dict[str, list[str]]
    usual: dict[str, dict[str, Any]]
    told: dict[str, dict[str, Any]]
    login: str

    def headers(self, path: str) -> dict[str, str]:
        """The client that drives this asks for packed replies and does not unpack them."""
        login = f"Tablet {TABLET}" if path.startswith("/tablet/") else self.login
        return {"Authorization": login, "Accept-Encoding": "identity"}

    def place(self, case: Any, *, is_right: bool) -> None:
        """Point a request at what exists; where it is a right one, let it say what means something, and edit what
        stands. What becomes of a value follows from the value, so that the same run does the same."""
        case.path_parameters = self._placed(case.path_parameters)
        order = case.path_parameters.get("order_id") if isinstance(case.path_parameters, dict) else None
        usual = self.usual.get(str(order), next(iter(self.usual.values()))) | self.told.get(case.path, {})
        case.body = self._placed(case.body, usual=usual if is_right else NOTHING)
        named = dict(case.headers or {}).get("If-Match")
        if is_right and named is not None and _often(named):
            case.headers["If-Match"] = "*"

    def _placed(self, value: Any, name: str = "", *, usual: Mapping[str, Any] = NOTHING) -> Any:
        if name in usual and _often(value):
            return usual[name]
        if isinstance(value, dict):
            return {key: self._placed(part, key, usual=usual) for key, part in value.items()}
        if isinstance(value, list):
            return [self._placed(part, usual=usual) for part in value]
        return self._real(name, value) if isinstance(value, str) and (name == "sha256" or _is_id(value)) else value

    def _real(self, name: str, made_up: str) -> str:
        known = self.ids.get(name, [])
        return known[crc32(made_up.encode()) % len(known)] if known and _often(made_up) else made_up


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
    closed, draft = _closed_order(scene), _draft_order(scene)
    _fill(scene)
    user = build.UserFactory(username="fuzz", roles=["administrator", "coordinator"])
    notice = build.NoticeFactory(user=user)
    rows = _rows(scene, [scene.order, closed, draft]) | {"notice_id": [notice], "step_id": [notice.step]}
    ids = {name: [str(row.public_id) for row in found] for name, found in rows.items()}
    ids["event"] = [str(row.event) for row in rows["event"]]
    ids["sha256"] = [row.sha256 for row in rows["document_id"]]
    usual = {str(order.public_id): _usual(order, ids) for order in (scene.order, closed)}
    return FuzzWorld(ids, usual, _told(ids), f"Token {AuthToken.objects.create(user)[1]}")


def _rows(scene: Scene, orders: list[WorkOrder]) -> dict[str, list[Any]]:
    """By the name of a path parameter, and the same by the name of a field."""
    other_estimates = Estimate.objects.exclude(pk=scene.prescription.estimate.pk).order_by("id")
    rows: dict[str, list[Any]] = {
        "site_id": [scene.world.patch.site],
        "patch_id": [scene.world.patch, build.PatchFactory()],
        "survey_id": [Survey.objects.filter(patch=scene.world.patch).order_by("id")[0], build.SurveyFactory()],
        "import_id": [build.SurveyImportFactory(state="done", errors=[_finding()]), build.SurveyImportFactory()],
        "book_id": [scene.prescription.estimate.rate_book, build.RateBookFactory(name="Third")],
        "estimate_id": list(other_estimates),
        "season_id": [scene.world.season],
        "prescription_id": [scene.prescription, build.PrescriptionFactory(estimate__rate_book__name="Fourth")],
        "batch_id": [build.ChoiceBatchFactory(season=scene.world.season), build.ChoiceBatchFactory()],
        "journal_id": [build.JournalBatchFactory()],
        "order_id": list(orders),
        "visit_id": [scene.visit],
        "product_id": [build.ProductFactory()],
        "season_fund_id": [build.SeasonFundFactory(season=scene.world.season), build.SeasonFundFactory()],
        "rule_id": [build.ChainRuleFactory()],
        "event_id": [build.CalendarEventFactory(), build.CalendarEventFactory(kind="leaf_out")],
        "profile_id": [build.RecordProfileFactory()],
        "permit_id": [build.VolunteerPermitFactory()],
        "premium_id": [build.WorkweekPremiumFactory()],
        **_bought(),
        "agreement_id": [build.CompTimeAgreementFactory(), build.CompTimeAgreementFactory()],
        "document_id": [build.ProductDocumentFactory()],
        **_from_the_field(scene),
        **_payroll(scene),
        **_months(scene),
        "export_id": [_exported(), build.ExportRunFactory()],
        **_funding(),
        **_people(scene),
        **_ground(scene),
        "closure_id": [build.ClosureFactory(), build.ClosureFactory()],
        "species_id": [build.SpeciesFactory(code="FUZZ")],
        "jurisdiction_id": [build.JurisdictionFactory(code="FZ")],
        "question_id": [build.ChecklistQuestionFactory(), build.ChecklistAnswerFactory().question],
        "form_id": [build.GrowthFormFactory(code="shrub")],
        "mix_id": [build.MixFactory()],
        "equipment_id": [build.EquipmentFactory(code="fuzz-sprayer")],
        "method_id": [scene.prescription.method],
        "run_id": [
            _planned(scene),
            build.EstimateRunFactory(),
            build.PlanRunFactory(),
            _calibrated(scene),
            build.SeasonPrescribeRunFactory(),
        ],
    }
    rows |= {name.removesuffix("_id"): found for name, found in rows.items()}
    award = build.AwardFactory()
    return rows | {
        "purchase_order": rows["purchase"],
        "work_order": list(orders),
        "fund": [award.fund, scene.world.fund],
        "award": [award],
        "crew": [scene.other_crew, scene.world.crew],
        "like_crew": [scene.world.crew],
        "lot": [build.StockLotFactory()],
        "person": [member.person for member in scene.world.crew.memberships.order_by("id")],
    }


def _bought() -> dict[str, list[Any]]:
    purchase = build.PurchaseOrderFactory()
    return {
        "vendor_id": [purchase.vendor, build.VendorFactory()],
        "purchase_id": [purchase, build.PurchaseOrderFactory(state="approved")],
        "purchase_line_id": list(purchase.lines.all()),
        "bill_id": [build.BillFactory(), build.BillFactory(state="approved")],
        "hours_id": [build.EquipmentHoursFactory()],
        "trip_id": [build.TripFactory()],
    }


def _from_the_field(scene: Scene) -> dict[str, list[Any]]:
    """A tablet of the crew lead's, what it sent and what is asked about it."""
    lead, hold = scene.users["lead"], build.RecordHoldFactory()
    device = build.DeviceFactory(token=TABLET, users=[lead])
    held = build.CommandFactory(device=device, user=lead, state="held", order=scene.order)
    flags = [build.FlagFactory(command=held, order=scene.order), build.FlagFactory(order=scene.order)]
    check_in = build.CheckInFactory(people=[lead.person], by=lead)
    build.OverdueAlertFactory(check_in=check_in)
    return {
        "device_id": [device, build.DeviceFactory()],
        "user_id": [lead],
        "command_id": [held],
        "flag_id": flags,
        "check_in_id": [check_in],
        "incident_id": [build.IncidentFactory(order=scene.order)],
        "photo_id": [build.PhotoFactory(order=scene.order, by=lead), _whole_photo(scene)],
        "record_id": [hold.record],
        "hold_id": [hold],
    }


def _people(scene: Scene) -> dict[str, list[Any]]:
    """A crew with its members, what one of them is licensed for, and who is away."""
    member = scene.world.crew.memberships.order_by("id")[0]
    held = build.QualificationFactory(person=member.person, kind__code="fuzz-license")
    return {
        "crew_id": [scene.world.crew, scene.other_crew],
        "member_id": [member, build.CrewMembershipFactory(crew=scene.other_crew)],
        "person_id": [member.person, build.PersonFactory()],
        "role_id": [member.person.role, build.LaborRoleFactory(code="fuzz-role")],
        "qualification_id": [held],
        "kind_id": [held.kind],
        "absence_id": [build.AbsenceFactory(crew=scene.other_crew), build.AbsenceFactory(person=member.person)],
    }


def _ground(scene: Scene) -> dict[str, list[Any]]:
    """A survey file on its way in, a patch that was split, and an edit of a patch that can be undone."""
    edit = patches_edit(
        patches=[build.PatchFactory()], control_state="maintenance", stamp=scene.stamp("coordinator", "Done")
    )
    return {
        "file_id": [build.SurveyFileFactory(), build.SurveyFileFactory(file_name="second.geojson")],
        "event": [build.PatchSuccessionFactory()],
        "edit_id": [edit],
    }


def _funding() -> dict[str, list[Any]]:
    """A fund with an award, a rule, a budget and a charge that waits."""
    award = build.AwardFactory()
    rule = build.FundingRuleShareFactory(fund=award.fund, award=award).rule
    return {
        "fund_id": [award.fund],
        "award_id": [award],
        "funding_rule_id": [rule, build.FundingRuleFactory()],
        "budget_id": [build.BudgetFactory(fund=award.fund), build.BudgetFactory()],
        "held_charge_id": [build.HeldChargeFactory(fund=award.fund, award=award)],
    }


def _payroll(scene: Scene) -> dict[str, list[Any]]:
    """A period that payroll was told of, with what it cost, and the open one before it."""
    member = scene.world.crew.memberships.order_by("id")[0].person
    line = build.PayPeriodLineFactory(person=member)
    loaded = build.PayrollImportLineFactory(person=member, loaded__period=line.period).loaded
    before = build.PayPeriodFactory(first_day=date(2027, 1, 24), last_day=date(2027, 2, 6))
    return {
        "pay_period_id": [line.period, before],
        "payroll_import_id": [loaded],
        "effort_statement_id": [build.EffortStatementFactory(person=member)],
    }


def _months(scene: Scene) -> dict[str, list[Any]]:
    """Months in each state, whose last step another person took; a proof, and a mapping of every account."""
    asked = {"closed": "close", "reopening": "ask_reopen", "closing": "ask_close"}
    periods = [
        build.PeriodFactory(first_day=date(2026, 8 + at, 1), state=state, closed_at=scene.stamp().at)
        for at, state in enumerate(asked)
    ]
    for period in periods:
        build.PeriodStepFactory(period=period, kind=asked[period.state], by=scene.users["finance"])
    return {
        "period_id": periods,
        "proof_id": [build.ProofFactory()],
        "mapping_id": [build.AccountMappingFactory(account=account) for account, _ in ACCOUNTS],
    }


def _exported() -> ExportRun:
    """With its file."""
    run: ExportRun = build.ExportRunFactory(state="done", file_name="cost.csv")
    path = Path(settings.EXPORT_DIR) / str(run.public_id) / run.file_name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("Fund,Planned\r\n")
    run.size_bytes = path.stat().st_size
    run.file_path = str(path.relative_to(Path(settings.EXPORT_DIR).parent))
    run.save(update_fields=["file_path", "size_bytes"])
    return run


def _whole_photo(scene: Scene) -> Photo:
    photo: Photo = build.PhotoFactory(order=scene.order, state="whole")
    photo_path(photo).write_bytes(b"picture")
    return photo


def _usual(order: WorkOrder, ids: dict[str, list[str]]) -> dict[str, Any]:
    said = statement(order)
    shares = [{"fund": ids["fund"][0], "share_e4": 10_000}]
    used = [{"visit": said["times"][0]["visit"], "lot": ids["lot"][0], "value": "0.25", "unit": "L"}]
    return {
        **{name: said[name] for name in ("outcomes", "times", "work_date", "happened_at")},
        **{"materials": used, "shares": shares, "funding": shares},
        **{"first_day": "2027-01-11", "last_day": "2027-03-12", "from_day": "2027-01-01"},
        **{"report": "cost", "month": "2027-02-01", "version": 1},
        **{"question": "water", "username": "lead", "password": PASSWORD},
        **{"amount": "1.5", "unit": "L", "kind": "receipt", "on": "2026-12-01"},
        **{"day": "2027-02-03", "sites": ids["site"], "after": "cut", "method": "hand-pull"},
        "equipment": [{"equipment": "fuzz-sprayer", "units_per_crew": 1}],
        "surveys": [ids["survey"][0]],
        "csv": (REFERENCE / "rate_book.csv").read_text(),
    }


def _told(ids: dict[str, list[str]]) -> dict[str, dict[str, Any]]:
    line = {"category": "contract", "description": "Clearing", "amount_cents": 12_000, "fund": ids["fund"][0]}
    bought = {"lines": [line], "total_cents": 12_000}
    return {
        "/api/purchase-orders": bought,
        "/api/bills": bought,
        "/api/budgets/csv": {"csv": f"fund,month,amount\r\n{Fund.objects.order_by('id')[0].code},2027-03,120.50\r\n"},
        "/api/handovers": {"month": "2027-02"},
    }


def _closed_order(scene: Scene) -> WorkOrder:
    """Another order of the same crew, closed, with everything that a close-out can hold."""
    lot = build.StockLotFactory()
    where = {"season": scene.world.season, "site": scene.world.patch.site, "crew": scene.world.crew}
    survey = build.SurveyFactory(patch__site=where["site"])
    flow.estimate_patches(surveys=[survey], on=scene.stamp().at.date(), stamp=scene.stamp())
    estimate = survey.estimates.order_by("id")[0]
    asked = build.PrescriptionFactory(season=where["season"], patch=survey.patch, estimate=estimate, state="ordered")
    visit = build.VisitFactory(**where, prescriptions=[asked], state="ordered")
    order: WorkOrder = build.WorkOrderFactory(**where, number=49, state="issued", visits=[visit])
    used = {"visit": str(visit.public_id), "lot": str(lot.public_id), "value": "0.5", "unit": "L"}
    said = stated(order, percent=60, materials=[used], weather={"wind_m_s": 2.5})
    flow.close_order(order=order, statement=said, stamp=scene.stamp("lead"))
    return order


def _draft_order(scene: Scene) -> WorkOrder:
    """One that can be issued."""
    loose = build.PrescriptionFactory(estimate__rate_book=build.RateBookFactory(name="Second"))
    visit = build.VisitFactory(prescriptions=[loose], state="ordered")
    order: WorkOrder = build.WorkOrderFactory(number=50, visits=[visit])
    build.OrderFundingFactory(order=order, fund=scene.world.fund)
    return order


def _planned(scene: Scene) -> PlanRun:
    """A finished plan that can be accepted, with one visit. Made last: what comes after it makes it out of date."""
    season = scene.world.season
    fingerprint = demand(season, rate_book_in_force()).fingerprint
    left = {"prescription": str(uuid4()), "patch": "KF H-01", "method": "Cutting", "hours": 12.5}
    left |= {"constraint": "window", "because": "No crew is free in the window."}
    run: PlanRun = build.PlanRunFactory(state="done", season=season, inputs_fingerprint=fingerprint, left_out=[left])
    where = {"season": season, "site": scene.world.patch.site, "crew": scene.world.crew}
    build.VisitFactory(**where, plan_run=run, state="proposed", prescriptions=[scene.prescription])
    return run


def _calibrated(scene: Scene) -> CalibrationRun:
    """A finished calibration of the scene's season."""
    run: CalibrationRun = build.CalibrationRunFactory(season=scene.world.season)
    at = scene.stamp().at
    attempt = run_claim(run, at=at)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: at)
    return CalibrationRun.objects.get(pk=run.pk)


def _finding() -> dict[str, Any]:
    return {"row": 1, "line": 3, "field": "cover_percent", "code": "invalid", "message": "Must be at most 100."}


def _fill(scene: Scene) -> None:
    """One of each that nothing else here made; the checklist is answered wherever there is an order."""
    question = build.ChecklistQuestionFactory(code="water")
    for order in WorkOrder.objects.order_by("id"):
        build.ChecklistAnswerFactory(site=order.site, question=question)
    build.ClosureFactory(site=scene.world.patch.site)
    build.CalendarEventFactory(site=scene.world.patch.site)
    build.QualificationFactory(person=scene.world.lead.person)
    build.LimitOverrideFactory(order=scene.order)
    build.DeadlineFactory(patch=scene.world.patch)
    scene.world.lead.set_password(PASSWORD)
    scene.world.lead.save()
