"""Sites: the list, one site with its year, and what may be changed there."""

import html
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.common.models import Change
from orders.sites.models import CalendarEvent, Closure, DailyWeather
from tests import build

pytestmark = pytest.mark.django_db
CSV = "date,low_f,high_f\n2026-03-01,32,50\n2026-03-02,41,59\n"


@pytest.fixture
def site():
    return build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, name, *parts, **query):
    reply = client.get(reverse(name, args=[part.public_id for part in parts]), query)
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def _post(client, name, *parts, **sent):
    return client.post(reverse(name, args=[part.public_id for part in parts]), sent)


def test_it_leads_to_a_new_patch_of_the_site_whoever_may_add_one(client, desk, site):
    address = f'href="{reverse("patch-new")}?site=HOLLOW"'
    assert address in _page(desk, "site", site)
    client.force_login(build.UserFactory(roles=["finance"]))
    assert address not in _page(client, "site", site)


def test_it_lists_sites_by_what_they_hold(desk, site):
    build.SiteFactory(code="SORREL", name="Sorrel Glade")
    page = _page(desk, "sites", q="holl")
    assert "Ketterfold Hollow" in page
    assert "Sorrel Glade" not in page


@pytest.mark.parametrize(("sort", "first"), [("name", "Alder"), ("-name", "Ketterfold"), ("-patches", "Ketterfold")])
def test_it_sorts_them(desk, site, sort, first):
    build.PatchFactory(site=site)
    build.SiteFactory(code="ZZ", name="Alder Bend")
    body = _page(desk, "sites", sort=sort).partition("<tbody>")[2]
    assert min(body.index("Alder"), body.index("Ketterfold")) == body.index(first)


def test_it_asks_as_often_for_many_sites_as_for_few(desk, site):
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as asked:
            _page(desk, "sites")
        counts.append(len(asked))
        for answer in build.ChecklistAnswerFactory.create_batch(3):
            build.CalendarEventFactory(site=answer.site)
    assert counts[0] == counts[1]


def test_it_shows_records_their_mean_and_where_they_are_too_few(desk, site):
    build.calendar_records(site, leaf_off=(11, 14))
    build.calendar_records(site, years=(2025,), leaf_out=(4, 10))
    page = _page(desk, "site", site)
    assert "± 0.0 days, 3 years" in page
    assert "Fewer than 3 years are on record of: leaf-out" in page
    assert "Advice only." in page


def test_it_shows_a_site_without_anything(desk, site):
    page = _page(desk, "site", site)
    assert "No record yet." in page
    assert "The site is never closed." in page


def test_it_shows_a_crew_lead_everything_and_lets_nothing_be_changed(client, crew_lead, site):
    client.force_login(crew_lead)
    event = build.CalendarEventFactory(site=site)
    page = _page(client, "site", site)
    assert "Add a record" not in page
    for name, parts in (("site-event-new", [site]), ("site-event", [site, event]), ("site-closure-new", [site])):
        assert client.get(reverse(name, args=[part.public_id for part in parts])).status_code == 403


def test_it_adds_a_record(desk, site):
    reply = _post(desk, "site-event-new", site, kind="leaf_off", year=2025, on="2026-01-03", source="Site log")
    assert reply.url == reverse("site", args=[site.public_id])
    assert CalendarEvent.objects.get().on == date(2026, 1, 3)


def test_it_says_what_is_wrong_with_a_record(desk, site):
    reply = _post(desk, "site-event-new", site, kind="leaf_off", year=2025, on="2027-01-03", source="Site log")
    assert reply.status_code == 400
    assert "does not belong to the season of 2025" in html.unescape(reply.content.decode())
    assert not CalendarEvent.objects.exists()


def test_it_corrects_a_record_and_takes_it_out_with_a_reason(desk, site):
    event = build.CalendarEventFactory(site=site)
    _post(desk, "site-event", site, event, year=2025, on="2025-11-25", source="Site log", version=1)
    assert CalendarEvent.objects.get().on == date(2025, 11, 25)
    assert _post(desk, "site-event-remove", site, event, reason="", version=2).status_code == 400
    assert _post(desk, "site-event-remove", site, event, reason="wrong", version=1).status_code == 412
    assert _post(desk, "site-event-remove", site, event, reason="wrong", version=2).status_code == 302
    assert not CalendarEvent.objects.exists()
    assert Change.objects.get(verb="calendar_event_remove").reason == "wrong"


def test_it_knows_a_record_at_its_own_site_alone(desk, site):
    event = build.CalendarEventFactory()
    address = reverse("site-event", args=[site.public_id, event.public_id])
    assert desk.get(address).status_code == 404


def test_it_closes_a_site_to_some_methods_and_opens_it_again(desk, site):
    build.MethodFactory(code="mow-mulch", name="mowing")
    days = {"first_day": "2027-04-20", "last_day": "2027-07-20", "repeats_yearly": "on"}
    _post(desk, "site-closure-new", site, kind="nesting", methods=["mow-mulch"], why="Birds", **days)
    closure = Closure.objects.get()
    assert (closure.methods, closure.repeats_yearly) == (["mow-mulch"], True)
    assert "every year" in _page(desk, "site", site)
    _post(desk, "site-closure", site, closure, kind="nesting", why="Owls", version=1, **days)
    assert Closure.objects.get().why == "Owls"
    assert _post(desk, "site-closure-remove", site, closure, reason="flown", version=2).status_code == 302
    assert not Closure.objects.exists()


def test_it_says_what_is_wrong_with_a_closure(desk, site):
    reply = _post(desk, "site-closure-new", site, kind="burn", first_day="2027-04-20", last_day="2027-04-01", why="x")
    assert reply.status_code == 400
    assert "is before the first" in html.unescape(reply.content.decode())


def test_it_reads_a_file_of_weather(desk, site):
    file = SimpleUploadedFile("weather.csv", CSV.encode())
    reply = desk.post(reverse("site-weather", args=[site.public_id]), {"file": file, "source": "gauge"})
    assert reply.status_code == 302
    assert DailyWeather.objects.count() == 2
    assert "Missing between" in _page(desk, "site", site)


@pytest.mark.parametrize(
    ("text", "told"), [(CSV.replace("32", "cold"), "row 1, low_f"), ("date,low,high\n", "the unit of low")]
)
def test_it_names_the_row_of_a_file_that_is_wrong(desk, site, text, told):
    file = SimpleUploadedFile("weather.csv", text.encode())
    reply = desk.post(reverse("site-weather", args=[site.public_id]), {"file": file, "source": "gauge"})
    assert reply.status_code == 400
    assert told in html.unescape(reply.content.decode())
    assert not DailyWeather.objects.exists()


def test_it_draws_degree_days_of_years_without_a_gap(desk, site):
    for month in (1, 2):
        for day in range(1, 29):
            build.DailyWeatherFactory(site=site, day=date(2026, month, day), low_c=12.0, high_c=22.0)
    assert "Degree days are not drawn" in _page(desk, "site", site)  # January 29 to 31 are missing
    for day in (29, 30, 31):
        build.DailyWeatherFactory(site=site, day=date(2026, 1, day), low_c=12.0, high_c=22.0)
    assert "this year beside those before" in _page(desk, "site", site)
