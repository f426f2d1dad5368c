"""Every list of the API: its view, and how to add a row to it with all that a row can hold."""

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


def _plain(factory, **facts):
    return lambda number: factory(**facts)


LISTS = {
    "sites": _site,
    "closures": _plain(build.ClosureFactory),
    "patches": _plain(build.PatchFactory),
    "surveys": _plain(build.SurveyFactory),
    "survey-imports": lambda number: build.SurveyImportFactory(asked_by=build.UserFactory()),
    "species": _species,
    "daily-weather": _plain(build.DailyWeatherFactory),
    "methods": _method,
    "growth-forms": _growth_form,
    "rate-books": _plain(build.RateBookFactory),
    "estimates": _estimate,
    "seasons": _plain(build.SeasonFactory),
    "prescriptions": _prescription,
    "season-funds": lambda number: build.SeasonFundFactory(sites=build.SiteFactory.create_batch(number % 3)),
    "chain-rules": _plain(build.ChainRuleFactory),
    "equipment": _equipment,
    "choice-batches": _choice_batch,
    "calibration-runs": _calibration,
    "plan-runs": lambda number: build.PlanRunFactory(asked_by=build.UserFactory()),
    "visits": _visit,
    "crews": lambda number: build.CrewFactory(people=3),
    "people": _person,
    "products": _plain(build.ProductFactory),
    "lots": _plain(build.StockLotFactory),
    "stock-movements": _movement,
    "work-orders": _order,
    "deadlines": _deadline,
    "notices": _plain(build.NoticeFactory),
    "reminder-steps": lambda number: build.ReminderStepFactory(kind="stock", days_before=100 + number),
    "funds": _plain(build.FundFactory),
    "awards": _plain(build.AwardFactory),
    "pay-rates": _plain(build.PayRateFactory),
    "ledger": _ledger,
}


def list_views() -> dict[str, Any]:
    """By endpoint."""
    views: list[Any] = [getattr(pattern.callback, "view_class", None) for pattern in urls.urlpatterns]
    return {view.endpoint: view for view in views if getattr(view, "lists", False)}
