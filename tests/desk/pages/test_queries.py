"""Every list asks the database as often for many rows as for few."""

from datetime import date, timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.estimates.models import Method, RateBook
from orders.planning.models import Season
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db
FEW, MANY = 3, 30


def patches(number):
    survey = build.SurveyFactory(patch__code=f"Q-{number}")
    method, book = Method.objects.get(code="hand-pull"), RateBook.objects.earliest("id")
    return build.EstimateFactory(survey=survey, method=method, rate_book=book)


def season_work(number):
    made, season = patches(number), Season.objects.earliest("id")
    patch = made.survey.patch
    asked = build.PrescriptionFactory(season=season, patch=patch, method=made.method, estimate=made)
    visit = build.VisitFactory(season=season, site=patch.site, crew=build.CrewFactory(name=f"Crew {number}"))
    build.VisitShareFactory(visit=visit, prescription=asked)


def orders(number):
    build.FlagFactory(order=build.WorkOrderFactory(number=100 + number))


def deadlines(number):
    build.NoticeFactory(deadline=build.DeadlineFactory(due_on=BEGIN.date() + timedelta(days=number)))


def pay_period(number):
    first = date(2020, 1, 5) + timedelta(days=14 * number)
    build.PayPeriodFactory(first_day=first, last_day=first + timedelta(days=13))


# The address, whoever reads it, and what makes one row of it. `{season}` is the season of the ground.
LISTS = {
    "/patches/": ("coordinator", patches),
    "/patches/?sort=-area": ("coordinator", patches),
    "/patches/?recommended=hand-pull": ("coordinator", patches),
    "/estimates/": ("coordinator", patches),
    "/seasons/{season}/": ("coordinator", season_work),
    "/seasons/{season}/calendar/": ("coordinator", season_work),
    "/seasons/{season}/calendar/?by=patch": ("coordinator", season_work),
    "/seasons/{season}/calendar/?show=load": ("coordinator", season_work),
    "/seasons/{season}/calendar/?show=cost": ("coordinator", season_work),
    "/seasons/{season}/windows/": ("coordinator", season_work),
    "/seasons/{season}/board/": ("coordinator", season_work),
    "/orders/": ("coordinator", orders),
    "/flags/": ("coordinator", orders),
    "/incidents/": ("coordinator", lambda number: build.IncidentFactory()),
    "/tablets/": ("coordinator", lambda number: build.DeviceFactory()),
    "/reminders/deadlines/": ("coordinator", deadlines),
    "/sites/": ("coordinator", lambda number: build.SiteFactory(code=f"SITE-{number}")),
    "/products/": ("coordinator", lambda number: build.ProductFactory(code=f"P-{number}")),
    "/choices/": ("coordinator", lambda number: build.ChoiceBatchFactory()),
    "/records/": ("supervisor", lambda number: build.ApplicationRecordFactory()),
    "/money/purchases/": ("finance", lambda number: build.PurchaseOrderFactory()),
    "/money/bills/": ("finance", lambda number: build.BillFactory()),
    "/money/overtime/": ("finance", lambda number: build.WorkweekPremiumFactory()),
    "/money/held/": ("finance", lambda number: build.HeldChargeFactory()),
    "/money/payroll/": ("finance", pay_period),
    "/money/stock/": ("finance", lambda number: build.StockValueFactory()),
    "/money/equipment/": ("finance", lambda number: build.EquipmentHoursFactory()),
    "/surveys/": ("coordinator", lambda number: build.SurveyImportFactory()),
    "/map/": ("coordinator", patches),
    "/packets/": ("coordinator", orders),
    "/watch/": ("coordinator", season_work),
    "/search/?q=Q-": ("coordinator", patches),
    "/setup/people/": ("coordinator", lambda number: build.PersonFactory()),
    "/setup/crews/": ("coordinator", lambda number: build.CrewFactory(name=f"Crew {number}", people=2)),
    "/setup/sites/": ("coordinator", lambda number: build.SiteFactory(code=f"SITE-{number}")),
    "/setup/species/": ("coordinator", lambda number: build.SpeciesFactory(code=f"KIND{number}")),
    "/setup/methods/": ("coordinator", lambda number: build.MethodFactory(code=f"way-{number}")),
    "/setup/mixes/": ("supervisor", lambda number: build.MixFactory()),
    "/setup/logins/": ("administrator", lambda number: build.UserFactory()),
}
ROLES = {
    "coordinator": "coordinator",
    "finance": "finance",
    "supervisor": "pesticide_supervisor",
    "administrator": "administrator",
}


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.mark.parametrize("address", LISTS)
def test_it_asks_as_often_for_many_rows_as_for_few(client, address):
    role, make = LISTS[address]
    ground_build()
    client.force_login(build.UserFactory(roles=[ROLES[role]]))
    few = asked_with(client, address, make, range(FEW))
    many = asked_with(client, address, make, range(FEW, MANY))
    assert many == few


def asked_with(client, address, make, numbers):
    """How many queries the page takes once there are as many rows more."""
    for number in numbers:
        make(number)
    shown = address.format(season=Season.objects.earliest("id").public_id)
    cache.clear()
    client.get(shown)
    cache.clear()  # nothing is kept for the first reader after a change
    with CaptureQueriesContext(connection) as counted:
        assert client.get(shown).status_code == 200
    return len(counted)
