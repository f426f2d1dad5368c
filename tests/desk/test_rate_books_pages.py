"""Rate books as pages: who sees and changes them, and that each form does what its verb does."""

import re
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.selectors import rate_book_in_force
from tests import build
from tests.estimates.books import changed_rows, draft, line_of
from tests.flow.world import REFERENCE, csv_rows, prescribed, world_build

pytestmark = pytest.mark.django_db
READ = ("rate-book", "rate-book-file", "rate-book-effect", "rate-book-changes")
WRITE = ("rate-book-copy", "rate-book-discard", "rate-book-retire", "rate-book-in-force", "rate-book-read")


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def book(world):
    return draft(world, changed_rows())


@pytest.fixture
def desk(client, world):
    client.force_login(world.coordinator)
    return client


def _at(name, book, *more):
    return reverse(name, args=[book.public_id, *more])


def _text(reply):
    return reply.content.decode()


def _row(book, line, **changed):
    rates = book.rates.filter(line=line).values().get()
    names = ("kind", "method", "step", "growth_form", "driver", "from_value", "value", "unit", "cover_exponent")
    more = ("skill", "shared_spread", "own_spread", "source")
    return {name: rates[name] for name in (*names, *more)} | {"version": book.version} | changed


@pytest.mark.parametrize(
    ("role", "status"), [("coordinator", 200), ("administrator", 200), ("finance", 200), ("crew_lead", 403)]
)
def test_it_opens_to_the_office(client, book, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("rate-books")).status_code == status
    assert {client.get(_at(name, book)).status_code for name in READ} == {status}


@pytest.mark.parametrize("name", WRITE)
def test_it_changes_nothing_for_finance(client, book, name):
    client.force_login(build.UserFactory(roles=["finance"]))
    assert client.post(_at(name, book), {"day": "2027-01-01"}).status_code == 403
    assert client.get(_at("rate-row", book, 1)).status_code == 403
    assert (RateBook.objects.count(), RateBook.objects.get(pk=book.pk).state) == (2, "draft")


def test_it_offers_finance_no_button(client, book):
    client.force_login(build.UserFactory(roles=["finance"]))
    text = _text(client.get(_at("rate-book", book)))
    assert "Copy into a new draft" not in text
    assert re.findall(r'<form[^>]*method="post"[^>]*action="([^"]*)"', text) == [reverse("logout")]


def test_it_lists_books_with_state_and_days(desk, book):
    text = _text(desk.get(reverse("rate-books")))
    assert "Reference 1" in text
    assert "Dec 1, 2026" in text
    assert "state-wait" in text


def test_it_says_what_to_do_where_there_is_none(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert "No rate book yet" in _text(client.get(reverse("rate-books")))


def test_it_filters_rows(desk, book):
    text = _text(desk.get(_at("rate-book", book), {"method": "tarp", "q": "pin the"}))
    assert "lay and pin the tarp" in text
    assert "pull with roots" not in text
    assert "No row answers this" in _text(desk.get(_at("rate-book", book), {"q": "no such words"}))


def test_it_links_rows_of_a_draft_alone(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    assert _at("rate-row", book, line) in _text(desk.get(_at("rate-book", book)))
    old = rate_book_in_force()
    assert _at("rate-row", old, line) not in _text(desk.get(_at("rate-book", old)))


def test_it_saves_a_row(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    assert 'value="8"' in _text(desk.get(_at("rate-row", book, line)))
    reply = desk.post(_at("rate-row", book, line), _row(book, line, value="9"))
    assert (reply.status_code, book.rates.get(line=line).value) == (302, "9")


def test_it_offers_names_and_keeps_what_nobody_could_choose(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    page = _text(desk.get(_at("rate-row", book, line)))
    assert '<option value="hand-pull" selected>' in page
    assert '<option value="gross_area_m2" selected>Gross area</option>' in page
    assert '<option value="shift_hours">Paid shift</option>' in page
    typed = _text(desk.post(_at("rate-row", book, line), _row(book, line, growth_form="moss")))
    assert '<option value="moss" selected>moss</option>' in typed


def test_it_says_at_the_field_what_is_wrong_and_keeps_what_was_typed(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    reply = desk.post(_at("rate-row", book, line), _row(book, line, value="many"))
    assert (reply.status_code, book.rates.get(line=line).value) == (400, "8")
    assert "is no number." in _text(reply)
    assert 'value="many"' in _text(reply)


def test_it_saves_nothing_over_a_change_made_meanwhile(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    stale = _row(book, line, value="9")
    desk.post(_at("rate-row", book, line), {**stale, "value": "7"})
    reply = desk.post(_at("rate-row", book, line), stale)
    assert (reply.status_code, book.rates.get(line=line).value) == (412, "7")
    assert "Changed since you read it" in _text(reply)


def test_it_takes_a_row_out_and_adds_one(desk, book):
    count = book.rates.count()
    desk.post(_at("rate-row", book, 1), {**_row(book, 1), "remove": "1"})
    assert book.rates.count() == count - 1
    book.refresh_from_db()
    row = {"kind": "allowance", "step": "spare", "value": "1", "source": "invented", "version": book.version}
    assert desk.post(_at("rate-row-new", book), row).status_code == 302
    assert book.rates.get(line=count).step == "spare"


def test_it_knows_no_line_beyond_the_last(desk, book):
    assert desk.get(_at("rate-row", book, 9999)).status_code == 404


def test_it_copies_and_discards(desk, world):
    reply = desk.post(_at("rate-book-copy", rate_book_in_force()))
    copy = RateBook.objects.get(edition=2)
    assert reply.url == _at("rate-book", copy)
    assert desk.post(_at("rate-book-discard", copy)).url == reverse("rate-books")
    assert RateBook.objects.count() == 1


def test_it_gives_a_file_and_reads_it_back(desk, book):
    text = _text(desk.get(_at("rate-book-file", book)))
    assert rates_from_csv(text) == changed_rows()
    file = SimpleUploadedFile("rates.csv", text.replace(",8,h/ha", ",6,h/ha", 1).encode())
    reply = desk.post(_at("rate-book-read", book), {"file": file, "version": book.version})
    assert (reply.status_code, book.rates.get(line=1).value) == (302, "6")


def test_it_names_the_row_of_a_file_that_is_wrong(desk, book):
    file = SimpleUploadedFile("rates.csv", (REFERENCE / "rate_book.csv").read_bytes().replace(b"h/ha", b"h/acre", 1))
    reply = desk.post(_at("rate-book-read", book), {"file": file, "version": book.version})
    assert (reply.status_code, book.rates.get(line=1).value) == (400, "8")
    assert "h/acre" in _text(reply)


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"x" * 1_000_001])
def test_it_reads_no_file_that_is_no_text_or_too_large(desk, book, data):
    reply = desk.post(_at("rate-book-read", book), {"file": SimpleUploadedFile("r.csv", data), "version": 1})
    assert reply.status_code == 400


def test_it_tells_the_difference_to_the_book_in_force(desk, book):
    text = _text(desk.get(_at("rate-book-difference", book)))
    assert "From Reference 1 to Reference 2" in text
    assert "Hand pulling with roots" in text
    assert desk.get(_at("rate-book-difference", book), {"from": "x"}).status_code == 400


def test_it_shows_the_effect_old_beside_new(desk, world, book):
    prescription = prescribed(world)
    text = _text(desk.get(_at("rate-book-effect", book)))
    assert f"{prescription.estimate.hours_likely:,.1f}" in text
    assert "Eight times in ten" in text
    assert "<svg" in text


def test_it_shows_no_effect_where_nothing_is_open(desk, book):
    assert "No open work rests on" in _text(desk.get(_at("rate-book-effect", book)))


def test_it_puts_in_force(desk, book):
    reply = desk.post(_at("rate-book-in-force", book), {"day": "2027-01-01"})
    book.refresh_from_db()
    assert (reply.status_code, book.state, book.in_force_from) == (302, "in_force", date(2027, 1, 1))


def test_it_refuses_what_open_work_needs_and_says_so_beside_the_effect(desk, world):
    prescribed(world)
    book = draft(world, [row for row in csv_rows("rate_book.csv") if row["method"] != "hand-pull"])
    reply = desk.post(_at("rate-book-in-force", book), {"day": "2027-01-01"})
    assert reply.status_code == 409
    assert "has no rates for hand-pull" in _text(reply)
    assert "this book makes none" in _text(reply)


def test_it_retires(desk, world):
    book = rate_book_in_force()
    desk.post(_at("rate-book-retire", book), {"day": "2027-01-01"})
    book.refresh_from_db()
    assert (book.state, book.in_force_until) == ("retired", date(2027, 1, 1))


def test_it_tells_who_changed_what(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    desk.post(_at("rate-row", book, line), _row(book, line, value="9"))
    text = _text(desk.get(_at("rate-book-changes", book)))
    assert "Row changed" in text
    assert "Value: 8 → 9" in text


def test_it_drafts_from_a_file(desk, world):
    assert "crew-member: 3" in _text(desk.get(reverse("rate-book-new")))
    typed = {"name": "Own", "crew_kind": "staff", "standard_crew": "crew-member: 2", "skill_roles": "crew: crew-member"}
    file = SimpleUploadedFile("rates.csv", (REFERENCE / "rate_book.csv").read_bytes())
    reply = desk.post(reverse("rate-book-new"), {**typed, "file": file})
    made = RateBook.objects.get(name="Own")
    assert reply.url == _at("rate-book", made)
    assert (made.standard_crew, made.skill_roles) == ({"crew-member": 2}, {"crew": "crew-member"})


def test_it_drafts_nothing_from_a_form_that_is_wrong(desk, world):
    typed = {"name": "Own", "crew_kind": "staff", "standard_crew": "crew-member", "skill_roles": "crew: crew-member"}
    reply = desk.post(reverse("rate-book-new"), {**typed, "file": SimpleUploadedFile("r.csv", b"kind\n")})
    assert (reply.status_code, RateBook.objects.count()) == (400, 1)
    assert "a colon and what belongs to it" in _text(reply)
