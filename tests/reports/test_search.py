"""One search over everything that a reader may open: by words, the best first, in one query a kind."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.reports.search import KINDS, searched
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 3, 1)


@pytest.fixture
def coordinator(db):
    return build.UserFactory(roles=["coordinator"])


@pytest.fixture
def hollow(db):
    return build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")


def _found(actor, question, **more):
    groups = searched(actor=actor, question=question, on=ON, most=10, **more)
    return {group.kind.code: [hit.words for hit in group.hits] for group in groups}


def test_it_finds_what_holds_every_word_wherever_it_stands(coordinator, hollow):
    build.PatchFactory(site=hollow, code="HO-04", name="Creek bank")
    build.PatchFactory(site=hollow, code="HO-05", name="Ridge")
    assert _found(coordinator, "ketterfold creek") == {"patch": ["HO-04 Creek bank"]}


def test_it_puts_what_is_known_by_the_question_first(coordinator, hollow):
    for code in ("A-HO-1", "HO-11", "HO-1"):
        build.PatchFactory(site=hollow, code=code, name="")
    assert _found(coordinator, "ho-1")["patch"] == ["HO-1", "HO-11", "A-HO-1"]


def test_it_finds_an_order_by_its_number(coordinator):
    order = build.WorkOrderFactory(number=4711)
    assert _found(coordinator, "4711")["order"] == [f"Work order {order.number}"]


def test_it_finds_nothing_that_the_reader_may_not_open(hollow):
    order = build.WorkOrderFactory(site=hollow)
    build.PatchFactory(site=hollow, code="HO-04")
    build.FundFactory(name="Hollow fund")
    outsider = build.UserFactory(roles=["crew_lead"])
    assert set(_found(outsider, "hollow")) == {"site"}
    assert _found(build.UserFactory(roles=["finance"]), "hollow")["fund"] == ["Hollow fund"]
    assert order.site == hollow


def test_it_asks_for_one_kind_alone(coordinator, hollow):
    build.PatchFactory(site=hollow, code="HO-04")
    assert set(_found(coordinator, "ho", kind="site")) == {"site"}


def test_it_says_where_there_is_more(coordinator, hollow):
    build.PatchFactory.create_batch(3, site=hollow)
    groups = searched(actor=coordinator, question="hollow", on=ON, most=2)
    patches = next(group for group in groups if group.kind.code == "patch")
    assert (len(patches.hits), patches.more) == (2, True)


@pytest.mark.parametrize("question", ["", "   ", "\x00"])
def test_it_finds_nothing_for_nothing(coordinator, hollow, question):
    assert _found(coordinator, question) == {}


def test_it_takes_signs_of_patterns_as_they_are(coordinator, hollow):
    assert _found(coordinator, "%") == {}
    assert _found(coordinator, "_") == {}


def test_it_refuses_a_question_that_is_no_question(coordinator):
    with pytest.raises(Invalid):
        _found(coordinator, "x" * 101)


def test_it_asks_once_a_kind_however_many_rows_there_are(coordinator, hollow, django_assert_max_num_queries):
    build.PatchFactory.create_batch(30, site=hollow)
    build.WorkOrderFactory.create_batch(5, site=hollow)
    with django_assert_max_num_queries(len(KINDS) + 6):
        _found(coordinator, "hollow")
