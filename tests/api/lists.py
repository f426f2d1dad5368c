"""Every list of the API: its view, and how to add a row to it with all that a row can hold."""

from datetime import date, timedelta
from typing import Any

from orders.api import urls
from orders.workorders.models import OrderVisit
from tests import build


def _order(number):
    order = build.WorkOrderFactory(number=number)
    visit = build.VisitFactory(prescriptions=build.PrescriptionFactory.create_batch(2), state="ordered")
    OrderVisit.objects.create(order=order, visit=visit)


def _method(number):
    kind, mix = build.QualificationKindFactory(code=f"kind-{number}"), build.MixFactory()
    build.MethodFactory(code=f"method-{number}", qualification=kind, default_mix=mix)


def _person(number):
    person = build.PersonFactory(role=build.LaborRoleFactory(code=f"role-{number}"))
    for _ in range(2):
        build.QualificationFactory(person=person, supervised_by=build.PersonFactory())


def _overtime_rule(number):
    build.OvertimeRuleFactory(jurisdiction=build.JurisdictionFactory(code=f"OT{number}"))


def _ledger(number):
    award = build.AwardFactory()
    first = build.LedgerEntryFactory(fund=award.fund, award=award)
    build.LedgerEntryFactory(fund=award.fund, reverses=first)


def _growth_form(number):
    build.GrowthFormFactory(code=f"form-{number}")


def _species(number):
    build.SpeciesFactory(code=f"SP{number}")


def _site(number):
    build.SiteFactory(jurisdiction=build.JurisdictionFactory(code=f"J{number}"))


def _movement(number):
    build.StockMovementFactory(by=build.UserFactory() if number % 2 else None)


def _prescription(number):
    follows = {"follows": build.PrescriptionFactory(), "purpose": "regrowth", "chain_rule": build.ChainRuleFactory()}
    paid = {"fund": build.SeasonFundFactory(), "seed_due_on": "2027-08-18"}
    build.PrescriptionFactory(**(follows if number % 2 else paid))


def _estimate(number):
    build.EstimateFactory(mix=build.MixFactory() if number % 2 else None)


def _calibration(number):
    drafted = build.RateBookFactory() if number % 2 else None
    build.CalibrationRunFactory(rate_book=build.RateBookFactory(), draft=drafted, asked_by=build.UserFactory())


def _choice_batch(number):
    method = build.MethodFactory() if number % 2 else None
    batch = build.ChoiceBatchFactory(method=method, made_by=build.UserFactory())
    for act in ("made", "dropped"):
        build.ChoicePartFactory(batch=batch, act=act)


def _export(number):
    build.ExportRunFactory(file_name="cost.csv", query={"by": "fund", "and": "site"})


def _visit(number):
    shares = build.PrescriptionFactory.create_batch(number % 3)
    more = {"plan_run": build.PlanRunFactory(), "replaces": build.VisitFactory()} if number % 2 else {}
    visit = build.VisitFactory(prescriptions=shares, because=["It is the only crew with a license."], **more)
    if number % 2:
        build.OrderVisitFactory(order=build.WorkOrderFactory(number=number + 1), visit=visit)


def _equipment(number):
    kind = build.EquipmentFactory()
    for method in ("cut", "dig"):
        build.MethodEquipmentFactory(equipment=kind, method__code=method)


def _deadline(number):
    if number % 2:
        build.DeadlineFactory(plain=True, kind="close", order=build.WorkOrderFactory(number=500 + number))
    else:
        build.DeadlineFactory()


def _check_in(number):
    made = build.CheckInFactory(people=build.PersonFactory.create_batch(number % 3 + 1))
    build.CheckInStepFactory(check_in=made, kind="longer", back_by=made.back_by)


def _day_sheet(number):
    line = build.DayLineFactory(sheet=build.DaySheetFactory(), code="drive", order=None)
    build.DayShareFactory(line=line)


def _incident(number):
    made = build.IncidentFactory(crew=build.CrewFactory(), order=build.WorkOrderFactory(number=700 + number))
    build.IncidentNoteFactory.create_batch(number % 3, incident=made)


def _batch(number):
    build.MixDayEndFactory(batch=build.MixBatchFactory(supervised_by=build.PersonFactory() if number % 2 else None))


def _application(number):
    more = {"prescription": build.PrescriptionFactory()} if number % 2 else {}
    build.ApplicationFactory(people=build.PersonFactory.create_batch(2), **more)


def _weather_check(number):
    more = (
        {"order": build.WorkOrderFactory(number=800 + number), "batch": build.MixBatchFactory()} if number % 2 else {}
    )
    build.WeatherCheckFactory(**more)


def _detection(number):
    build.DetectionFactory(species=build.SpeciesFactory(code=f"DT{number}"), survey=build.SurveyFactory())


def _permit(number):
    build.VolunteerPermitFactory(for_products=build.ProductFactory.create_batch(2), on_sites=[build.SiteFactory()])


def _device(number):
    build.DeviceFactory(users=build.UserFactory.create_batch(number % 3), revoked_by=build.UserFactory())


def _command(number):
    build.CommandFactory(order=build.WorkOrderFactory(number=300 + number) if number % 2 else None)


def _flag(number):
    command = build.CommandFactory() if number % 2 else None
    order = build.WorkOrderFactory(number=400 + number)
    build.FlagFactory(order=order, site=order.site, crew=order.crew, person=build.PersonFactory(), command=command)


def _period(number):
    period = build.PeriodFactory(first_day=f"2027-{number % 12 + 1:02d}-01")
    for _ in range(2):
        build.PeriodStepFactory(period=period, by=build.UserFactory())


def _mapping(number):
    award = build.AwardFactory()
    build.AccountMappingFactory(fund=award.fund, award=award)


def _pay_period(number):
    first = date(2027, 1, 3) + timedelta(14 * number)
    return build.PayPeriodFactory(first_day=first, last_day=first + timedelta(13), exported_by=build.UserFactory())


def _payroll_import(number):
    build.PayrollImportLineFactory(loaded__period=_pay_period(number))


def _effort(number):
    award = build.AwardFactory()
    lines = [{"fund": award.fund, "award": award}, {"fund": None, "activity": "leave"}]
    build.EffortStatementFactory(lines=lines, confirmed_by=build.UserFactory() if number % 2 else None)


def _purchase(number):
    build.PurchaseOrderFactory(approved_by=build.UserFactory() if number % 2 else None)


def _bill(number):
    build.BillFactory(purchase_order=build.PurchaseOrderFactory(), approved_by=build.UserFactory())


def _equipment_hours(number):
    first = build.EquipmentHoursFactory(by=build.UserFactory())
    build.EquipmentHoursFactory(replaces=first, revision=2)


def _trip(number):
    first = build.TripFactory(person=build.PersonFactory(), by=build.UserFactory())
    build.TripFactory(replaces=first, order=build.WorkOrderFactory(number=700 + number), visit=build.VisitFactory())


def _funding_rule(number):
    rule, award = build.FundingRuleFactory(site=build.SiteFactory()), build.AwardFactory()
    build.FundingRuleShareFactory(rule=rule, share_e4=4_000)
    build.FundingRuleShareFactory(rule=rule, fund=award.fund, award=award, share_e4=6_000)


def _budget(number):
    award = build.AwardFactory()
    month = date(2027, 1, 1) if number % 2 else None
    build.BudgetFactory(fund=award.fund, award=award, site=build.SiteFactory(), month=month)


def _held_charge(number):
    award, settled = build.AwardFactory(), build.AwardFactory()
    whose = {"order": build.WorkOrderFactory(number=800 + number), "person": build.PersonFactory()}
    done = {"settled_fund": settled.fund, "settled_award": settled, "settled_by": build.UserFactory()}
    build.HeldChargeFactory(fund=award.fund, award=award, **whose, **(done if number % 2 else {}))


def _plain(factory, **facts):
    return lambda number: factory(**facts)


LISTS = {
    "sites": _site,
    "closures": _plain(build.ClosureFactory),
    "patches": _plain(build.PatchFactory),
    "patch-successions": _plain(build.PatchSuccessionFactory),
    "patch-photos": lambda number: build.PatchPhotoFactory(by=build.UserFactory()),
    "surveys": _plain(build.SurveyFactory),
    "survey-files": _plain(build.SurveyFileFactory),
    "survey-mappings": _plain(build.SurveyMappingFactory),
    "survey-imports": lambda number: build.SurveyImportFactory(asked_by=build.UserFactory()),
    "species": _species,
    "daily-weather": _plain(build.DailyWeatherFactory),
    "methods": _method,
    "growth-forms": _growth_form,
    "jurisdictions": lambda number: build.SiteFactory(jurisdiction=build.JurisdictionFactory(code=f"U{number}")),
    "checklist-questions": lambda number: build.ChecklistAnswerFactory(),
    "mixes": _plain(build.MixFactory),
    "prices": lambda number: build.PriceFactory(from_day=date(2027, 1, 1) + timedelta(number)),
    "rate-books": _plain(build.RateBookFactory),
    "estimates": _estimate,
    "estimate-runs": lambda number: build.EstimateRunFactory(asked_by=build.UserFactory()),
    "seasons": _plain(build.SeasonFactory),
    "prescriptions": _prescription,
    "season-funds": lambda number: build.SeasonFundFactory(sites=build.SiteFactory.create_batch(number % 3)),
    "chain-rules": _plain(build.ChainRuleFactory),
    "equipment": _equipment,
    "choice-batches": _choice_batch,
    "season-prescribe-runs": lambda number: build.SeasonPrescribeRunFactory(asked_by=build.UserFactory()),
    "calibration-runs": _calibration,
    "exports": _export,
    "plan-runs": lambda number: build.PlanRunFactory(asked_by=build.UserFactory()),
    "visits": _visit,
    "crews": lambda number: build.CrewFactory(people=3),
    "people": _person,
    "crew-members": lambda number: build.CrewMembershipFactory(),
    "qualification-kinds": lambda number: build.QualificationKindFactory(code=f"held-{number}"),
    "absences": lambda number: build.AbsenceFactory(**({"person": build.PersonFactory()} if number % 2 else {})),
    "labor-roles": lambda number: build.LaborRoleFactory(code=f"labor-{number}"),
    "standard-rates": lambda number: build.StandardRateFactory(role=build.LaborRoleFactory(code=f"rated-{number}")),
    "products": _plain(build.ProductFactory),
    "product-documents": lambda number: build.ProductDocumentFactory(added_by=build.UserFactory()),
    "lots": _plain(build.StockLotFactory),
    "stock-movements": _movement,
    "work-orders": _order,
    "application-records": _plain(build.ApplicationRecordFactory),
    "record-profiles": _plain(build.RecordProfileFactory),
    "volunteer-permits": _permit,
    "deadlines": _deadline,
    "notices": _plain(build.NoticeFactory),
    "reminder-steps": lambda number: build.ReminderStepFactory(kind="stock", days_before=100 + number),
    "funds": _plain(build.FundFactory),
    "awards": _plain(build.AwardFactory),
    "award-terms": _plain(build.AwardTermFactory, allowed_categories=["labor"]),
    "funding-rules": _funding_rule,
    "budgets": _budget,
    "held-charges": _held_charge,
    "pay-rates": lambda number: build.PayRateFactory(role=build.LaborRoleFactory(code=f"paid-{number}")),
    "pay-policies": lambda number: build.PayPolicyFactory(from_day=date(2027, 1, 3) + timedelta(7 * number)),
    "overtime-rules": _overtime_rule,
    "comp-time-agreements": _plain(build.CompTimeAgreementFactory),
    "match-rates": lambda number: build.MatchRateFactory(role=build.LaborRoleFactory(code=f"given-{number}")),
    "vendors": _plain(build.VendorFactory),
    "stock-policies": lambda number: build.StockPolicyFactory(from_day=date(2027, 1, 1) + timedelta(number)),
    "purchase-orders": _purchase,
    "bills": _bill,
    "equipment-hours": _equipment_hours,
    "trips": _trip,
    "stock-values": _plain(build.StockValueFactory),
    "ledger": _ledger,
    "workweek-premiums": lambda number: build.WorkweekPremiumFactory(posted_by=build.UserFactory()),
    "periods": _period,
    "proofs": lambda number: build.ProofFactory(ran_by=build.UserFactory()),
    "account-mappings": _mapping,
    "journal-batches": lambda number: build.JournalBatchFactory(made_by=build.UserFactory()),
    "pay-periods": _pay_period,
    "payroll-imports": _payroll_import,
    "effort-statements": _effort,
    "check-ins": _check_in,
    "briefings": _plain(build.BriefingFactory),
    "day-sheets": _day_sheet,
    "incidents": _incident,
    "mix-batches": _batch,
    "applications": _application,
    "weather-checks": _weather_check,
    "photos": _plain(build.PhotoFactory),
    "sign-postings": _plain(build.SignPostingFactory),
    "detections": _detection,
    "devices": _device,
    "commands": _command,
    "flags": _flag,
}


def list_views() -> dict[str, Any]:
    """By endpoint."""
    views: list[Any] = [getattr(pattern.callback, "view_class", None) for pattern in urls.urlpatterns]
    return {view.endpoint: view for view in views if getattr(view, "lists", False)}
