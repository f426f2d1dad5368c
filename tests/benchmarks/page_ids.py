"""Real ids for the addresses of pages: which rows a page is about, by the names in its address."""

from django.apps import apps

# The table behind a name in an address. Where the same name stands for others, the page's own name says so.
ROWS = {
    "estimate_id": "estimates.Estimate",
    "patch_id": "sites.Patch",
    "survey_id": "sites.Survey",
    "import_id": "sites.SurveyImport",
    "batch_id": "planning.ChoiceBatch",
    "product_id": "supplies.Product",
    "document_id": "supplies.ProductDocument",
    "book_id": "estimates.RateBook",
    "season_id": "planning.Season",
    "run_id": "planning.PlanRun",
    "visit_id": "planning.Visit",
    "site_id": "sites.Site",
    "event_id": "sites.CalendarEvent",
    "closure_id": "sites.Closure",
    "order_id": "workorders.WorkOrder",
    "crew_id": "crews.Crew",
    "person_id": "crews.Person",
    "profile_id": "workorders.RecordProfile",
    "record_id": "workorders.ApplicationRecord",
    "incident_id": "workorders.Incident",
    "flag_id": "field.Flag",
    "device_id": "field.Device",
    "step_id": "reminders.ReminderStep",
    "fund_id": "costs.Fund",
    "award_id": "costs.Award",
    "budget_id": "costs.Budget",
    "rule_id": "costs.FundingRule",
    "premium_id": "costs.WorkweekPremium",
    "proof_id": "costs.Proof",
    "pay_period_id": "costs.PayPeriod",
    "effort_statement_id": "costs.EffortStatement",
    "purchase_id": "costs.PurchaseOrder",
    "bill_id": "costs.Bill",
    "hours_id": "costs.EquipmentHours",
    "trip_id": "costs.Trip",
    "view_id": "reports.SavedView",
    "schedule_id": "reports.ReportSchedule",
    "photo_id": "workorders.Photo",
    "agreement_id": "costs.CompTimeAgreement",
    "mapping_id": "costs.AccountMapping",
    "file_id": "sites.SurveyFile",
    "work_id": "planning.Prescription",
    "qualification_id": "crews.Qualification",
    "member_id": "crews.CrewMembership",
    "absence_id": "crews.Absence",
    "role_id": "crews.LaborRole",
    "kind_id": "crews.QualificationKind",
    "user_id": "common.User",
    "jurisdiction_id": "sites.Jurisdiction",
    "form_id": "sites.GrowthForm",
    "question_id": "sites.ChecklistQuestion",
    "species_id": "sites.Species",
    "method_id": "estimates.Method",
    "mix_id": "supplies.Mix",
    "price_id": "supplies.Price",
    "equipment_id": "supplies.Equipment",
    "permit_id": "supplies.VolunteerPermit",
}
OTHERWISE = {
    ("calibration-run", "run_id"): "calibration.CalibrationRun",
    ("season-fund", "fund_id"): "planning.SeasonFund",
    ("season-fund-remove", "fund_id"): "planning.SeasonFund",
    ("export-file", "run_id"): "reports.ExportRun",
    ("journal-file", "batch_id"): "costs.JournalBatch",
    ("survey-mapping-file", "mapping_id"): "sites.SurveyMapping",
}
NAMED = {
    ("ending",): [{"ending": "csv"}],
    ("section",): [{"section": "orders"}],
    ("kind",): [{"kind": kind} for kind in ("species", "questions", "jurisdictions")],
}
# Of two ids in one address the last is looked up, and the first is what that row belongs to.
PARENT = {"season_id": "season", "site_id": "site", "book_id": "book", "fund_id": "fund"}


def page_words(name, names, most):
    """Up to `most` sets of words for a page's address, spread over the table; none where no row is there."""
    if not names:
        return [{}]
    if "month" in names:
        months = apps.get_model("costs.Period").objects.order_by("first_day").values_list("first_day", flat=True)
        return [{"month": f"{day:%Y-%m}"} for day in months[:most]]
    if names == ["code"]:
        from orders.reports.catalog import REPORTS

        return [{"code": report.code} for report in REPORTS.values()][:most]
    if tuple(names) in NAMED:
        return NAMED[tuple(names)]
    return _of_rows(name, names, most)


def _of_rows(name, names, most):
    last = names[-1]
    if name == "rate-row":
        rows = apps.get_model("estimates.Rate").objects.select_related("book").order_by("id")[:most]
        return [{"book_id": row.book.public_id, "line": row.line} for row in rows]
    label = OTHERWISE.get((name, last)) or ROWS.get(last)
    if label is None or not set(names[:-1]) <= set(PARENT):
        return None
    rows = apps.get_model(label).objects.order_by("id")
    count = rows.count()
    ids = list(rows.values_list("pk", flat=True))
    chosen = ids[:: max(1, count // most)][:most]
    found = rows.filter(pk__in=chosen).defer(*_heavy(rows.model))
    return [_words(row, names) for row in found]


def _heavy(model):
    return [field.name for field in model._meta.concrete_fields if field.get_internal_type() == "JSONField"]


def _words(row, names):
    words = {names[-1]: row.public_id}
    for name in names[:-1]:
        words[name] = getattr(row, PARENT[name]).public_id
    return words
