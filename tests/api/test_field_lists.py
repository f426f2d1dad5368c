"""What came from the field: a crew lead sees what is of own crews, another crew's does not exist."""

import pytest

from tests import build
from tests.api.caller import Caller
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew():
    return build.CrewFactory(name="Hollow crew")


@pytest.fixture
def order(crew):
    return build.WorkOrderFactory(number=31, crew=crew)


MADE = {
    "check-ins": lambda crew, order: build.CheckInFactory(crew=crew),
    "briefings": lambda crew, order: build.BriefingFactory(crew=crew),
    "day-sheets": lambda crew, order: build.DaySheetFactory(crew=crew),
    "incidents": lambda crew, order: build.IncidentFactory(crew=crew),
    "mix-batches": lambda crew, order: build.MixBatchFactory(crew=crew),
    "applications": lambda crew, order: build.ApplicationFactory(order=order),
    "weather-checks": lambda crew, order: build.WeatherCheckFactory(order=order),
    "photos": lambda crew, order: build.PhotoFactory(order=order),
    "sign-postings": lambda crew, order: build.SignPostingFactory(order=order),
}


@pytest.mark.parametrize("endpoint", MADE)
def test_it_shows_the_office_all_and_a_lead_what_is_of_own_crews(crew, order, desk, endpoint):
    made = MADE[endpoint](crew, order)
    callers = (desk, Caller(lead_of(crew, "own")), Caller(lead_of(build.CrewFactory(), "other")))
    seen = [[row["id"] for row in caller.rows(f"/api/{endpoint}")] for caller in callers]
    assert seen == [[str(made.public_id)], [str(made.public_id)], []]


def test_it_shows_a_lead_own_detections_alone(desk, lead):
    build.DetectionFactory()
    own = build.DetectionFactory(by=lead.user)
    assert [row["id"] for row in lead.rows("/api/detections")] == [str(own.public_id)]
    assert len(desk.rows("/api/detections")) == 2


@pytest.mark.parametrize("endpoint", sorted(MADE))
def test_it_keeps_finance_out_of_all_but_day_sheets(finance, endpoint):
    assert finance.get(f"/api/{endpoint}").status_code == (200 if endpoint == "day-sheets" else 403)


def test_it_leaves_out_uses_that_were_corrected(desk, order):
    first = build.ApplicationFactory(order=order)
    second = build.ApplicationFactory(order=order, replaces=first, volume_ul=3_000_000)
    assert [row["volume_ul"] for row in desk.rows("/api/applications")] == [second.volume_ul]


def test_it_shows_what_a_day_sheet_shares_out(desk, order):
    sheet = build.DaySheetFactory(lines=[{"order": order, "minutes": 420}])
    drive = build.DayLineFactory(sheet=sheet, code="drive", order=None, minutes=60)
    build.DayShareFactory(line=drive, order=order)
    (row,) = desk.rows("/api/day-sheets")
    assert [(line["code"], line["order"], line["shares"]) for line in row["lines"]] == [
        ("work", 31, []),
        ("drive", None, [{"order": 31, "minutes": 60}]),
    ]


FILTERS = {
    "check-ins": ("is_out=true", "is_out=false"),
    "incidents": ("is_closed=false&kind=near_miss", "is_closed=true"),
    "mix-batches": ("day_from=2027-02-10", "day_from=2027-02-11"),
    "weather-checks": ("verdict=go", "verdict=no_go"),
    "photos": ("state=waiting", "state=whole"),
    "sign-postings": ("state=up", "state=down"),
}


@pytest.mark.parametrize("endpoint", FILTERS)
def test_it_narrows(crew, order, desk, endpoint):
    MADE[endpoint](crew, order)
    assert [len(desk.rows(f"/api/{endpoint}?{query}")) for query in FILTERS[endpoint]] == [1, 0]
