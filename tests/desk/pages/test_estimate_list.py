"""The list of estimates: filters, order and pages stand in the address; the download holds what is shown."""

import csv
import html
import io
import re

import pytest
from django.urls import reverse

from orders.estimates.models import Estimate
from tests import build

pytestmark = pytest.mark.django_db
ADDRESS = reverse("estimates")


@pytest.fixture
def reader(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def rows(db):
    """Three patches at two sites, by two methods and two books."""
    staff = build.RateBookFactory(name="Reference", state="in_force")
    helpers = build.RateBookFactory(name="Volunteers", crew_kind="volunteers")
    made: dict[str, Estimate] = {}
    for number, (site, patch, method, book) in enumerate(
        [("NORTH", "A", "cut", staff), ("NORTH", "B", "dig", staff), ("SOUTH", "C", "cut", helpers)]
    ):
        survey = build.SurveyFactory(patch__site__code=site, patch__code=patch) if patch != "B" else _beside(made["A"])
        figures = {"hours_likely": 10.0 + number, "total_cents": 90_000 - 1_000 * number}
        made[patch] = build.EstimateFactory(
            survey=survey, method=build.MethodFactory(code=method), rate_book=book, **figures
        )
    return made


def _beside(estimate):
    return build.SurveyFactory(patch__site=estimate.survey.patch.site, patch__code="B")


def _patches(client, **asked):
    page = html.unescape(client.get(ADDRESS, asked).content.decode())
    return [name.split()[-1] for name in re.findall(r'class="key"><a[^>]*>([^<]*)</a>', page)]


def test_it_lists_the_newest_first(reader, rows):
    assert _patches(reader) == ["C", "B", "A"]


@pytest.mark.parametrize(
    ("asked", "patches"),
    [
        ({"site": "NORTH"}, ["B", "A"]),
        ({"method": "cut"}, ["C", "A"]),
        ({"crew": "volunteers"}, ["C"]),
        ({"q": "b"}, ["B"]),
        ({"sort": "cost"}, ["C", "B", "A"]),
        ({"sort": "-cost"}, ["A", "B", "C"]),
        ({"sort": "patch"}, ["A", "B", "C"]),
        ({"sort": "hours", "site": "NORTH"}, ["A", "B"]),
    ],
)
def test_it_narrows_and_sorts(reader, rows, asked, patches):
    assert _patches(reader, **asked) == patches


def test_it_narrows_to_a_rate_book(reader, rows):
    assert _patches(reader, book=rows["A"].rate_book.public_id) == ["B", "A"]


def test_it_keeps_to_the_newest_of_each_patch_method_and_crew(reader, rows):
    older = rows["A"]
    newer = build.EstimateFactory(survey=older.survey, method=older.method, rate_book=older.rate_book)
    assert _patches(reader) == ["A", "C", "B", "A"]
    assert _patches(reader, newest="on") == ["A", "C", "B"]
    assert str(newer.public_id) in reader.get(ADDRESS, {"newest": "on"}).content.decode()


def test_it_keeps_its_state_in_every_link(reader, rows):
    page = reader.get(ADDRESS, {"site": "NORTH", "newest": "on", "sort": "-cost"}).content.decode()
    assert f"{reverse('estimate-list-file')}?site=NORTH&amp;newest=1&amp;sort=-cost" in page
    assert f"{ADDRESS}?site=NORTH&amp;newest=1&amp;sort=cost" in page
    assert 'aria-sort="descending"' in page


def test_it_turns_pages(reader, rows, monkeypatch):
    monkeypatch.setattr("orders.desk.views.estimates.ROWS_A_PAGE", 2)
    page = reader.get(ADDRESS, {"sort": "patch"}).content.decode()
    assert "Rows 1 to 2 of 3" in page
    assert "?sort=patch&amp;page=2" in page
    assert _patches(reader, sort="patch", page=2) == ["C"]


def test_it_writes_what_is_shown_as_csv(reader, rows):
    reply = reader.get(reverse("estimate-list-file"), {"site": "NORTH", "sort": "patch"})
    lines = list(csv.DictReader(io.StringIO(reply.content.decode(), newline="")))
    assert [(line["patch"], line["hours likely"], line["total $"]) for line in lines] == [
        ("A", "10.00", "900.00"),
        ("B", "11.00", "890.00"),
    ]
    assert reply["Content-Disposition"] == 'attachment; filename="estimates.csv"'


def test_it_guards_text_against_formulas(reader):
    build.EstimateFactory(survey__patch__code="=1+1")
    assert "'=1+1" in reader.get(reverse("estimate-list-file")).content.decode()


@pytest.mark.parametrize("asked", [{"site": "x"}, {"method": "x"}, {"book": "7"}, {"sort": "luck"}, {"page": "0"}])
def test_it_names_what_is_wrong_with_an_address(reader, rows, asked):
    page = reader.get(ADDRESS, asked)
    assert page.status_code == 400
    assert f"<strong>{next(iter(asked))}</strong>" in page.content.decode()


def test_it_says_what_to_do_where_there_is_nothing(reader):
    assert "Import a survey" in reader.get(ADDRESS).content.decode()
    assert "Show all" in reader.get(ADDRESS, {"q": "zz"}).content.decode()


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("crew_lead", 403)])
def test_it_opens_by_role(client, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(ADDRESS).status_code == status
    assert client.get(reverse("estimate-list-file")).status_code == status


def test_it_asks_the_database_as_often_for_many_rows_as_for_few(reader, rows, django_assert_num_queries):
    with django_assert_num_queries(11) as few:
        reader.get(ADDRESS)
    for _ in range(10):
        build.EstimateFactory(rate_book=rows["A"].rate_book)
    with django_assert_num_queries(len(few.captured_queries)):
        reader.get(ADDRESS)
