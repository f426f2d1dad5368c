"""Rate books: drafted, copied, put in force for a kind of crew, retired, discarded."""

from datetime import date

import pytest

from orders import flow
from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.common.models import Change
from orders.estimates.convert import rate_rows
from orders.estimates.models import RateBook
from orders.estimates.selectors import rate_book_changes, rate_book_in_force
from orders.estimates.services import (
    BookLacksMethods,
    rate_book_copy,
    rate_book_discard,
    rate_book_edit,
    rate_book_put_in_force,
    rate_book_retire,
)
from tests.estimates.books import ROLES, changed_rows, draft, volunteer_book
from tests.flow.world import BEGIN, csv_rows, prescribed, world_build

pytestmark = pytest.mark.django_db
DAY = BEGIN.date()


@pytest.fixture
def world():
    return world_build()


def _fields(refused):
    return [(error.field, error.row) for error in refused.value.errors]


def test_it_drafts_the_next_edition_of_a_name(world):
    assert [(draft(world).edition, draft(world, name="Other").edition)] == [(2, 1)]


def test_it_names_the_row_of_a_rate_that_cannot_be_used(world):
    rows = csv_rows("rate_book.csv")
    rows[4] = {**rows[4], "value": "many"}
    with pytest.raises(Invalid) as refused:
        draft(world, rows)
    assert _fields(refused) == [("value", 5)]
    assert RateBook.objects.count() == 1


def test_it_names_a_text_that_is_too_long_to_store(world):
    rows = csv_rows("rate_book.csv")
    rows[1] = {**rows[1], "source": "x" * 301}
    with pytest.raises(Invalid) as refused:
        draft(world, rows)
    assert _fields(refused) == [("source", 2)]


def test_it_copies_any_edition_into_a_draft(world):
    old = rate_book_in_force()
    copy = rate_book_copy(book=old, stamp=world.stamp())
    assert (copy.state, copy.edition, copy.name, copy.crew_kind) == ("draft", 2, old.name, "staff")
    assert rate_rows(copy) == rate_rows(old)


def test_it_retires_the_book_that_another_takes_over_from(world):
    old, new = rate_book_in_force(), draft(world)
    rate_book_put_in_force(book=new, from_day=date(2027, 1, 1), stamp=world.stamp())
    old.refresh_from_db()
    assert (old.state, old.in_force_until) == ("retired", date(2026, 12, 31))
    assert (new.state, new.in_force_from) == ("in_force", date(2027, 1, 1))
    with pytest.raises(WrongState):
        rate_book_put_in_force(book=old, from_day=DAY, stamp=world.stamp())


def test_it_keeps_one_book_in_force_for_each_kind_of_crew(world):
    staff, volunteers = rate_book_in_force(), volunteer_book(world)
    assert (rate_book_in_force("staff"), rate_book_in_force("volunteers")) == (staff, volunteers)
    other = draft(world, name="Another name")
    rate_book_put_in_force(book=other, from_day=DAY, stamp=world.stamp())
    assert set(RateBook.objects.filter(state="in_force")) == {other, volunteers}


def test_it_begins_no_book_before_the_one_that_it_takes_over_from(world):
    with pytest.raises(Invalid) as refused:
        rate_book_put_in_force(book=draft(world), from_day=date(2026, 11, 30), stamp=world.stamp())
    assert _fields(refused) == [("from_day", None)]
    assert rate_book_in_force().edition == 1


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"skill_roles": {"crew": "crew-member"}}, "skill_roles"),
        ({"skill_roles": {**ROLES, "crew": "nobody"}}, "skill_roles"),
        ({"standard_crew": {"nobody": 3}}, "standard_crew"),
        ({"standard_crew": {}}, "people"),
    ],
)
def test_it_puts_no_book_in_force_that_could_not_price_its_work(world, more, field):
    with pytest.raises(Invalid) as refused:
        rate_book_put_in_force(book=draft(world, **more), from_day=DAY, stamp=world.stamp())
    assert field in {error.field for error in refused.value.errors}
    assert rate_book_in_force().edition == 1


def test_it_puts_no_book_in_force_without_rates_for_open_work(world):
    prescribed(world)
    rows = [row for row in csv_rows("rate_book.csv") if row["method"] != "hand-pull"]
    with pytest.raises(BookLacksMethods) as refused:
        flow.put_rate_book_in_force(book=draft(world, rows), from_day=DAY, stamp=world.stamp())
    assert "hand-pull" in refused.value.data["methods"]
    assert rate_book_in_force().edition == 1


def test_it_plans_volunteers_for_nothing_that_needs_a_license(world):
    book = draft(world, name="Volunteers", crew_kind="volunteers")
    with pytest.raises(Invalid) as refused:
        rate_book_put_in_force(book=book, from_day=DAY, stamp=world.stamp())
    assert "cut-stem" in refused.value.errors[0].message


def test_it_retires_a_book_without_another(world):
    book = rate_book_retire(book=rate_book_in_force(), last_day=date(2027, 3, 1), stamp=world.stamp())
    assert (book.state, book.in_force_until) == ("retired", date(2027, 3, 1))
    assert RateBook.objects.filter(state="in_force").count() == 0


def test_it_retires_no_draft_and_not_before_the_first_day(world):
    with pytest.raises(WrongState):
        rate_book_retire(book=draft(world), last_day=DAY, stamp=world.stamp())
    with pytest.raises(Invalid):
        rate_book_retire(book=rate_book_in_force(), last_day=date(2026, 11, 1), stamp=world.stamp())


def test_it_discards_a_draft_and_keeps_the_record(world):
    book = draft(world)
    rate_book_discard(book=book, stamp=world.stamp())
    assert not RateBook.objects.filter(pk=book.pk).exists()
    gone = Change.objects.get(verb="rate_book_discard")
    told = {"name": "Reference", "edition": 2, "rates": len(csv_rows("rate_book.csv"))}
    assert (gone.entity_id, gone.before) == (book.public_id, told)


def test_it_discards_no_book_in_force(world):
    with pytest.raises(WrongState):
        rate_book_discard(book=rate_book_in_force(), stamp=world.stamp())


def test_it_edits_the_crew_of_a_draft_alone(world):
    book = draft(world)
    rate_book_edit(book=book, values={"standard_crew": {"crew-member": 5}}, expected=book.version, stamp=world.stamp())
    assert RateBook.objects.get(pk=book.pk).standard_crew == {"crew-member": 5}
    with pytest.raises(VersionMismatch):
        rate_book_edit(book=book, values={"notes": "x"}, expected=book.version - 1, stamp=world.stamp())
    with pytest.raises(WrongState):
        rate_book_edit(book=rate_book_in_force(), values={"notes": "x"}, expected=1, stamp=world.stamp())


def test_it_tells_who_changed_what_the_newest_first(world):
    book = draft(world, changed_rows())
    rate_book_put_in_force(book=book, from_day=DAY, stamp=world.stamp())
    told = [(change.verb, change.actor) for change in rate_book_changes(book)]
    assert told == [("rate_book_put_in_force", world.coordinator), ("rate_book_draft", world.coordinator)]
