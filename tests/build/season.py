"""Methods, rate books, estimates; the season and its work orders; deadlines."""

from datetime import date
from decimal import Decimal

import factory

from orders.calibration import models as calibration
from orders.estimates import explained
from orders.estimates import models as estimates
from orders.planning import models as planning
from orders.reminders import models as reminders
from orders.workorders import models as workorders
from tests.build.base import NOW, WORK_DAY, WORKED_AT, Build, UserFactory
from tests.build.people import CrewFactory, PersonFactory
from tests.build.places import GrowthFormFactory, PatchFactory, SiteFactory, SpeciesFactory, SurveyFactory
from tests.build.stock import EquipmentFactory, StockLotFactory


class MethodFactory(Build):
    """Without the row that estimating reads: load the reference methods where a test estimates."""

    class Meta:
        model = estimates.Method
        django_get_or_create = ["code"]

    code = "cut"
    name = factory.LazyAttribute(lambda method: method.code.replace("-", " ").capitalize())
    facts = factory.LazyFunction(dict)
    uses_herbicide = False


class RateBookFactory(Build):
    class Meta:
        model = estimates.RateBook

    name = "Reference"
    edition = factory.Sequence(lambda n: n + 1)
    standard_crew = factory.LazyFunction(lambda: {"crew-member": 4})
    skill_roles = factory.LazyFunction(lambda: {"crew": "crew-member"})


class RateFactory(Build):
    class Meta:
        model = estimates.Rate

    book = factory.SubFactory(RateBookFactory)
    line = factory.Sequence(lambda n: n + 1)
    kind = "rate"
    value = "1"
    source = "invented"


class EstimateFactory(Build):
    class Meta:
        model = estimates.Estimate

    survey = factory.SubFactory(SurveyFactory)
    method = factory.SubFactory(MethodFactory)
    rate_book = factory.SubFactory(RateBookFactory)
    fingerprint = factory.Sequence(lambda n: f"{n:064x}")
    inputs = factory.LazyFunction(lambda: {"version": 1})
    result = factory.LazyFunction(lambda: {"version": 1})
    main_species_code = "EUFO"
    treated_area_m2 = 1000.0
    spray_volume_l = 0.0
    products_ul = factory.LazyFunction(dict)
    person_hours = 12.0
    paid_person_hours = 16.0
    crew_hours = 3.0
    crew_days = 0.5
    hours_low, hours_likely, hours_high, hours_mean = 8.0, 12.0, 18.0, 12.6
    own_log_sd = 0.25
    shared_log_sd = 0.15
    survey_log_sd = factory.LazyAttribute(lambda made: explained.survey_log_sd(made.result))
    form_shares = factory.LazyAttribute(lambda made: explained.form_shares(made.result, made.inputs))
    labor_cents, material_cents, equipment_cents, mileage_cents = 34_200, 1_500, 0, 2_480
    total_cents = 38_180
    cost_low_cents, cost_high_cents = 26_000, 56_000
    at = NOW


class SeasonFactory(Build):
    class Meta:
        model = planning.Season

    name = factory.Sequence(lambda n: f"Season {n}")
    first_day = date(2027, 1, 4)
    last_day = date(2027, 12, 17)


class PrescriptionFactory(Build):
    """For a patch; its method and estimate follow from the estimate made for that patch."""

    class Meta:
        model = planning.Prescription

    season = factory.SubFactory(SeasonFactory)
    patch = factory.SubFactory(PatchFactory)
    estimate = factory.SubFactory(EstimateFactory, survey__patch=factory.SelfAttribute("...patch"))
    method = factory.SelfAttribute("estimate.method")
    why = "Small and sparse."
    first_day = date(2027, 1, 4)
    last_day = date(2027, 3, 20)
    window_because = "From the season's start until spring ephemerals emerge."


class SeasonFundFactory(Build):
    """`sites=[...]` are those that it pays for."""

    class Meta:
        model = planning.SeasonFund

    season = factory.SubFactory(SeasonFactory)
    code = factory.Sequence(lambda n: f"FUND-{n}")
    name = factory.LazyAttribute(lambda fund: f"Invented {fund.code}")
    budget_cents = 5_000_000

    @factory.post_generation
    def sites(self, create, extracted, **kwargs):
        self.sites.set(extracted or [])


class ChainRuleFactory(Build):
    class Meta:
        model = planning.ChainRule

    code = factory.Sequence(lambda n: f"rule-{n}")
    after = factory.SubFactory(MethodFactory, code="cut")
    purpose = "regrowth"
    method = factory.SubFactory(MethodFactory, code="spot-foliar")
    least_days = 30
    most_days = 120
    source = "invented"


class MethodEquipmentFactory(Build):
    class Meta:
        model = estimates.MethodEquipment

    method = factory.SubFactory(MethodFactory)
    equipment = factory.SubFactory(EquipmentFactory)
    units_per_crew = 1


class ChoiceBatchFactory(Build):
    class Meta:
        model = planning.ChoiceBatch

    season = factory.SubFactory(SeasonFactory)
    made_at = NOW


class ChoicePartFactory(Build):
    """Of a prescription in the season of its choice."""

    class Meta:
        model = planning.ChoicePart

    batch = factory.SubFactory(ChoiceBatchFactory)
    prescription = factory.SubFactory(PrescriptionFactory, season=factory.SelfAttribute("..batch.season"))
    act = "made"


class PlanRunFactory(Build):
    class Meta:
        model = planning.PlanRun

    season = factory.SubFactory(SeasonFactory)
    asked_at = NOW


class EstimateRunFactory(Build):
    class Meta:
        model = estimates.EstimateRun

    on_day = WORK_DAY
    asked_at = NOW


class SeasonPrescribeRunFactory(Build):
    class Meta:
        model = planning.SeasonPrescribeRun

    season = factory.SubFactory(SeasonFactory)
    purpose = "look"
    asked_at = NOW


class CalibrationRunFactory(Build):
    class Meta:
        model = calibration.CalibrationRun

    season = factory.SubFactory(SeasonFactory)
    asked_at = NOW


class VisitFactory(Build):
    """`prescriptions=[...]` are served whole."""

    class Meta:
        model = planning.Visit

    season = factory.SubFactory(SeasonFactory)
    crew = factory.SubFactory(CrewFactory, people=3)
    site = factory.SubFactory(SiteFactory)
    day = WORK_DAY
    state = "planned"

    @factory.post_generation
    def prescriptions(self, create, extracted, **kwargs):
        for prescription in extracted or []:
            VisitShareFactory(visit=self, prescription=prescription)


class VisitShareFactory(Build):
    class Meta:
        model = planning.VisitShare

    visit = factory.SubFactory(VisitFactory)
    prescription = factory.SubFactory(PrescriptionFactory)
    planned_hours = 12.0
    share = 1.0


class WorkOrderFactory(Build):
    """`visits=[...]` are put on it; without a state it is a draft."""

    class Meta:
        model = workorders.WorkOrder

    number = factory.Sequence(lambda n: n + 1)
    season = factory.SubFactory(SeasonFactory)
    site = factory.SubFactory(SiteFactory)
    crew = factory.SubFactory(CrewFactory, people=3)
    first_day = WORK_DAY
    last_day = WORK_DAY

    @factory.post_generation
    def visits(self, create, extracted, **kwargs):
        for visit in extracted or []:
            OrderVisitFactory(order=self, visit=visit)


class OrderVisitFactory(Build):
    class Meta:
        model = workorders.OrderVisit

    order = factory.SubFactory(WorkOrderFactory)
    visit = factory.SubFactory(VisitFactory)


class CloseOutFactory(Build):
    class Meta:
        model = workorders.CloseOut

    order = factory.SubFactory(WorkOrderFactory, state="closed")
    revision = 1
    work_date = WORK_DAY
    happened_at = WORKED_AT
    received_at = WORKED_AT
    confirmed_by = "C. Lead"
    by = factory.SubFactory(UserFactory, roles=["crew_lead"])


class PatchOutcomeFactory(Build):
    class Meta:
        model = workorders.PatchOutcome

    close_out = factory.SubFactory(CloseOutFactory)
    prescription = factory.SubFactory(PrescriptionFactory)
    percent_complete = 100


class TimeEntryFactory(Build):
    class Meta:
        model = workorders.TimeEntry

    close_out = factory.SubFactory(CloseOutFactory)
    visit = factory.SubFactory(VisitFactory)
    person = factory.SubFactory(PersonFactory)
    work_date = WORK_DAY
    minutes = 240
    origin = "typed"
    happened_at = WORKED_AT
    received_at = WORKED_AT


class MaterialUseFactory(Build):
    class Meta:
        model = workorders.MaterialUse

    close_out = factory.SubFactory(CloseOutFactory)
    visit = factory.SubFactory(VisitFactory)
    lot = factory.SubFactory(StockLotFactory)
    amount = 500_000
    entered_value = Decimal("0.5")
    entered_unit = "L"
    work_date = WORK_DAY
    happened_at = WORKED_AT
    received_at = WORKED_AT


class LimitOverrideFactory(Build):
    class Meta:
        model = workorders.LimitOverride

    order = factory.SubFactory(WorkOrderFactory)
    limit_kind = "program-policy"
    limit = "No cut-stem work within 5 m of water."
    reason = "Dry ditch."
    by = factory.SubFactory(UserFactory, roles=["pesticide_supervisor"])
    at = NOW


class DeadlineFactory(Build):
    """Of a seed; other kinds name what they are of."""

    class Meta:
        model = reminders.Deadline

    class Params:
        plain = factory.Trait(patch=None, species=None, growth_form=None, survey=None, site=None, known_at=None)

    subject_key = factory.Sequence(lambda n: f"subject-{n}")
    period = "2027"
    title = "wintercreeper (climbing)"
    patch = factory.SubFactory(PatchFactory)
    species = factory.SubFactory(SpeciesFactory)
    growth_form = factory.SubFactory(GrowthFormFactory, code="climbing")
    survey = factory.SubFactory(SurveyFactory, patch=factory.SelfAttribute("..patch"), components=[])
    site = factory.SelfAttribute("patch.site")
    known_at = factory.SelfAttribute("survey.recorded_at")
    year = 2027
    due_on = date(2027, 8, 18)
    because = "Fruit from September 1, less a margin of 14 days."
    fingerprint = factory.Sequence(lambda n: f"{n:064x}")


class ReminderStepFactory(Build):
    """At a moment that no other step has: the migrations fill a schedule up to 28 days before."""

    class Meta:
        model = reminders.ReminderStep

    code = factory.Sequence(lambda n: f"step-{n}")
    days_before = factory.Sequence(lambda n: 30 + n)
    to_coordinators = True
    text = "Cut before fruit: two weeks left."


class CalendarFeedFactory(Build):
    class Meta:
        model = reminders.CalendarFeed

    user = factory.SubFactory(UserFactory)
    secret_hash = factory.Sequence(lambda n: f"{n:064x}")
    made_at = NOW


class ReminderPreferenceFactory(Build):
    class Meta:
        model = reminders.ReminderPreference

    user = factory.SubFactory(UserFactory)


class NoticeFactory(Build):
    class Meta:
        model = reminders.Notice

    deadline = factory.SubFactory(DeadlineFactory)
    step = factory.SubFactory(ReminderStepFactory)
    user = factory.SubFactory(UserFactory, roles=["coordinator"])
    message_id = factory.Sequence(lambda n: f"<{n}@fencerow.invalid>")
    subject = "Cut before fruit"
    body = "Two weeks left."
    made_at = NOW


class DigestFactory(Build):
    class Meta:
        model = reminders.Digest

    user = factory.SubFactory(UserFactory, roles=["coordinator"])
    message_id = factory.Sequence(lambda n: f"<digest.{n}@fencerow.invalid>")
    made_at = NOW
