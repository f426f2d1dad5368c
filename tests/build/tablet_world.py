"""A day of one crew at one site for the tablet: an order to pull two patches and a herbicide order with two mixes, both
issued for that day by the program's own verbs."""

import csv
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from orders import flow
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.estimates.models import Estimate
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from orders.workorders.models import WorkOrder
from orders.workorders.services import order_draft
from tests import build

REFERENCE = Path(__file__).resolve().parents[2] / "fixtures" / "reference"
ZONE = "America/Kentucky/Louisville"
HERBICIDE_METHODS = ("cut-stem", "spot-foliar")
USES = [
    {"method": "cut-stem", "max_percent_vv": 50.0},
    {"method": "spot-foliar", "max_percent_vv": 5.0, "max_l_per_ha": 14.0},
]
LIMITS = [
    {"measure": "wind_m_s", "low": None, "high": 6.71, "kind": "label-mandatory"},
    {"measure": "wind_m_s", "low": 0.89, "high": 4.47, "kind": "label-advisory"},
    {"measure": "temperature_c", "low": None, "high": 29.4, "kind": "program-policy"},
]
CAPS = [
    {"kg_ae_per_ha": 8.0, "period": "year", "kind": "label-mandatory"},
    {"kg_ae_per_ha": 5.6, "period": "application", "kind": "program-policy"},
]


@dataclass
class TabletWorld:
    day: date
    coordinator: User
    supervisor: User
    lead_user: User
    crew: Any
    lead: Any  # certified applicator and sawyer
    technician: Any  # supervised by the lead
    minor: Any  # under 18
    site: Any
    season: Any
    glyphosate: Any
    cut_stem_mix: Any
    foliar_mix: Any
    pulling: WorkOrder
    herbicide: WorkOrder
    lots: list[Any] = field(default_factory=list)

    def stamp(self, by: User | None = None) -> Stamp:
        return Stamp(by=by or self.coordinator, at=_noon(self.day))


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(16), tzinfo=UTC)


def today() -> date:
    """By the real clock, as a browser's page has it."""
    return datetime.now(ZoneInfo(ZONE)).date()


def tablet_world(day: date | None = None) -> TabletWorld:
    day = day or today()
    users = {
        role: build.UserFactory(username=name, roles=[role])
        for role, name in (
            ("coordinator", "tablet.coordinator"),
            ("crew_lead", "tablet.lead"),
            ("pesticide_supervisor", "tablet.supervisor"),
        )
    }
    stamp = Stamp(by=users["coordinator"], at=_noon(day - timedelta(days=30)))
    site = _site(users["coordinator"], day)
    crew, people = _crew(users["crew_lead"], site, day)
    stock = _stock(day)
    _rates(stock, stamp)
    season = build.SeasonFactory(first_day=day - timedelta(days=60), last_day=day + timedelta(days=300))
    estimates = _estimates(site, day, stamp)
    at_work = {"crew": crew, "season": season, "day": day, "stamp": Stamp(by=users["coordinator"], at=_noon(day))}
    return TabletWorld(
        day=day,
        coordinator=users["coordinator"],
        supervisor=users["pesticide_supervisor"],
        lead_user=users["crew_lead"],
        crew=crew,
        lead=people[0],
        technician=people[1],
        minor=people[2],
        site=site,
        season=season,
        glyphosate=stock["product"],
        cut_stem_mix=stock["cut-stem"],
        foliar_mix=stock["spot-foliar"],
        pulling=_issued(estimates["hand-pull"], **at_work),
        herbicide=_issued([*estimates["cut-stem"], *estimates["spot-foliar"]], **at_work),
        lots=stock["lots"],
    )


def _site(coordinator: User, day: date) -> Any:
    site = build.SiteFactory(
        code="TALLOW",
        name="Tallow Fork",
        boundary=build.square(-85.7, 38.2, 0.004),
        max_lon=-85.696,
        max_lat=38.204,
        access_notes="Gate code at the office; park on the gravel.",
        nearest_medical_help="Tallow County Hospital, 14 minutes",
        medical_phone="555-0142",
        medical_address="200 Invented Road",
        meeting_lon=-85.6995,
        meeting_lat=38.2005,
        emergency_access="Main gate; keys in the box on the left post.",
        radio_or_phone="Telephone at the gate, radio in the valley",
    )
    for number, code in enumerate(("permission", "utilities"), start=1):
        question = build.ChecklistQuestionFactory(code=code, question=f"Is {code} settled?", sort=number)
        build.ChecklistAnswerFactory(
            site=site,
            question=question,
            answered_by=coordinator,
            answered_at=_noon(day - timedelta(days=40)),
            valid_until=day + timedelta(days=200),
        )
    return site


def _crew(lead_user: User, site: Any, day: date) -> tuple[Any, list[Any]]:
    crew = build.CrewFactory(name="Fork crew", works_weekdays="1111111")
    begun = day - timedelta(days=200)
    born = {0: 40, 1: 25, 2: 17}
    names = ("Lena Ward", "Amos Tull", "Rye Colby")
    people = []
    for number, name in enumerate(names):
        person = build.PersonFactory(
            name=name,
            user=lead_user if number == 0 else None,
            person_type="seasonal" if number == 2 else "staff",
            born_on=day - timedelta(days=365 * born[number] + 30),
        )
        build.CrewMembershipFactory(crew=crew, person=person, is_lead=number == 0, first_day=begun)
        build.PayRateFactory(person=person, from_day=begun, rate_e4=250_000)
        people.append(person)
    holds = {"first_day": begun, "last_day": day + timedelta(days=300)}
    licensed = {"jurisdiction": site.jurisdiction, **holds}
    applicator = build.QualificationKindFactory(code="certified-applicator")
    technician = build.QualificationKindFactory(code="registered-technician")
    sawyer = build.QualificationKindFactory(code="sawyer", is_license=False)
    build.QualificationFactory(person=people[0], kind=applicator, number="KY-000901", category="ROW", **licensed)
    build.QualificationFactory(person=people[0], kind=sawyer, jurisdiction=None, **holds)
    build.QualificationFactory(
        person=people[1], kind=technician, number="KY-T-0107", supervised_by=people[0], **licensed
    )
    return crew, people


def _stock(day: date) -> dict[str, Any]:
    product = build.ProductFactory(
        code="glyphosate-480",
        name="Invented G-480",
        uses=USES,
        weather=LIMITS,
        caps=CAPS,
        rain_free_hours=6,
        restricted_entry_hours=12,
        protective_equipment="Long sleeves, shoes and socks, chemical-resistant gloves",
        cautions="Kills most green plants that it touches.",
        reviewed_on=day - timedelta(days=60),
    )
    helper = {"is_herbicide": False, "uses": [], "reviewed_on": day - timedelta(days=60)}
    dye = build.ProductFactory(code="marker-dye", name="Invented dye", **helper)
    surfactant = build.ProductFactory(code="surfactant", name="Invented spreader", **helper)
    came = day - timedelta(days=50)
    lots = [
        build.StockLotFactory(product=row, lot_number=f"{row.code[:1].upper()}-01", received_on=came)
        for row in (product, dye, surfactant)
    ]
    for kind in ("label", "sds"):
        build.ProductDocumentFactory(product=product, kind=kind, content=_pdf(kind))
    return {
        "product": product,
        "lots": lots,
        "cut-stem": build.MixFactory(
            code="cut-stem-25",
            name="Cut stem, 25%",
            carrier_l_per_ha=None,
            stem_dose_ml_per_cm=1.0,
            area_basis="infested",
            tank_l=2.0,
            products=[(product, 25.0, "herbicide"), (dye, 0.5, "dye")],
        ),
        "spot-foliar": build.MixFactory(
            code="foliar-2",
            name="Foliar, 2%",
            carrier_l_per_ha=467.0,
            tank_l=15.0,
            products=[(product, 2.0, "herbicide"), (surfactant, 0.5, "adjuvant"), (dye, 0.25, "dye")],
        ),
    }


def _pdf(kind: str) -> bytes:
    return f"%PDF-1.4\n% Invented {kind}: never spray by it\n%%EOF\n".encode()


def _rates(stock: dict[str, Any], stamp: Stamp) -> None:
    applicator = build.QualificationKindFactory(code="certified-applicator")
    methods = methods_load(
        rows=_rows("methods.csv"),
        qualification=dict.fromkeys(HERBICIDE_METHODS, applicator),
        mix={code: stock[code] for code in HERBICIDE_METHODS},
        stamp=stamp,
    )
    sprayer = build.EquipmentFactory(code="backpack-sprayer", name="Backpack sprayer")
    spray = next(method for method in methods if method.code == "spot-foliar")
    build.MethodEquipmentFactory(method=spray, equipment=sprayer, units_per_crew=2)
    role = build.LaborRoleFactory(code="crew-member")
    build.StandardRateFactory(role=role, from_day=stamp.at.date(), rate_e4=240_000)
    for kind in ("mileage", "bag", "fuel", "blade"):
        build.PriceFactory(kind=kind, from_day=stamp.at.date())
    for lot in stock["lots"]:
        build.PriceFactory(kind="product", code=lot.product.code, from_day=stamp.at.date(), price_e4=150_000)
    book = rate_book_draft(
        name="Reference",
        rows=_rows("rate_book.csv"),
        standard_crew={"crew-member": 3},
        skill_roles={"crew": "crew-member", "applicator": "crew-member", "sawyer": "crew-member"},
        stamp=stamp,
    )
    rate_book_put_in_force(book=book, from_day=stamp.at.date(), stamp=stamp)


def _rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _estimates(site: Any, day: date, stamp: Stamp) -> dict[str, list[Estimate]]:
    """By method: two patches to pull, one of shrubs to cut and treat, one to spray."""
    mat: dict[str, Any] = {"infested_area_m2": 120.0, "cover_low": 0.3, "cover_likely": 0.3, "cover_high": 0.3}
    shrub = {
        "species": build.SpeciesFactory(code="LOMA", common_name="bush honeysuckle", evergreen=False),
        "growth_form": build.GrowthFormFactory(code="shrub"),
        "stems_small": 60,
        "stems_medium": 20,
        "stems_large": 4,
        "height_m": 2.5,
        **mat,
    }
    wanted: list[tuple[str, dict[str, Any], str]] = [
        ("P-01", mat, "hand-pull"),
        ("P-02", mat, "hand-pull"),
        ("P-03", shrub, "cut-stem"),
    ]
    wanted.append(("P-04", {**mat, "infested_area_m2": 300.0}, "spot-foliar"))
    found: dict[str, list[Estimate]] = {}
    for number, (code, component, method) in enumerate(wanted):
        survey = _survey(site, code, number, component, day)
        made = flow.estimate_patches(surveys=[survey], on=stamp.at.date(), stamp=stamp)
        found.setdefault(method, []).append(next(one for one in made if one.method.code == method))
    return found


def _survey(site: Any, code: str, number: int, component: dict[str, Any], day: date) -> Any:
    west, south = -85.6998 + number * 0.0009, 38.2005 + number * 0.0009
    return build.SurveyFactory(
        patch=build.PatchFactory(site=site, code=code, name=f"Invented patch {number + 1}"),
        observed_on=day - timedelta(days=45),
        geometry=build.square(west, south, 0.0003),
        min_lon=west,
        min_lat=south,
        max_lon=west + 0.0003,
        max_lat=south + 0.0003,
        gross_area_m2=875.0,
        distance_to_water_m=200.0,
        slope_deg=6.0,
        components=[component],
    )


def _issued(estimates: list[Estimate], *, crew: Any, season: Any, day: date, stamp: Stamp) -> WorkOrder:
    """An order with one visit that serves the estimates whole."""
    asked = [
        build.PrescriptionFactory(
            season=season,
            patch=estimate.survey.patch,
            estimate=estimate,
            state="planned",
            first_day=day - timedelta(days=10),
            last_day=day + timedelta(days=60),
        )
        for estimate in estimates
    ]
    visit = build.VisitFactory(crew=crew, site=asked[0].patch.site, season=season, day=day)
    for one in asked:
        build.VisitShareFactory(visit=visit, prescription=one, planned_hours=one.estimate.hours_likely)
    order = order_draft(visits=[visit], instructions="Flag what you find beyond the outlines.", stamp=stamp)
    fund = build.FundFactory()
    order_fund(order=order, shares=[Payer(fund=fund, award=None, share_e4=10_000)], stamp=stamp)
    return flow.issue_order(order=order, stamp=stamp)
