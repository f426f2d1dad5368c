"""One method added and changed, and what it lacks before it can be estimated."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.use import NeedsOutOfUse
from orders.estimates.method_gaps import book_rates, books_in_force, method_gaps, methods_rated
from orders.estimates.selectors import method_of
from orders.estimates.services import (
    method_activate,
    method_add,
    method_deactivate,
    method_edit,
    methods_load,
    mix_methods_set,
)
from orders.supplies.services import mix_activate, mix_deactivate
from tests import build
from tests.flow.world import csv_rows

pytestmark = pytest.mark.django_db
ROW = next(row for row in csv_rows("methods.csv") if row["code"] == "cut")
SPRAY = next(row for row in csv_rows("methods.csv") if row["code"] == "spot-foliar")
NONE = {"qualification": None, "mix": None}


def add(stamp, **changed):
    return method_add(facts={**ROW, **changed}, stamp=stamp, **NONE)


def test_it_adds_a_method_with_its_facts(stamp):
    method = add(stamp, code="lop", name="lopping")
    assert (method.name, method.uses_herbicide, method.facts["season_rule"]) == ("lopping", False, "any time")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"season_rule": "when it suits"}, "season_rule"),
        ({"lowest_temp_c": "nan"}, "lowest_temp_c"),
        ({"highest_slope_deg": "95"}, "highest_slope_deg"),
        ({"needs_follow_up_days": "inf"}, "needs_follow_up_days"),
        ({"summary": " "}, "summary"),
        ({"uses_herbicide": "yes", "needs_license": "yes"}, "qualification"),
        ({"growth_forms": "moss"}, "growth_forms"),
    ],
)
def test_it_names_what_is_wrong(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        add(stamp, **changed)
    assert field in [error.field for error in refusal.value.errors]


def test_it_adds_a_code_once(stamp):
    add(stamp)
    with pytest.raises(Invalid) as refusal:
        add(stamp)
    assert [error.field for error in refusal.value.errors] == ["code"]


def test_it_gives_no_mix_to_work_without_herbicide(stamp):
    with pytest.raises(Invalid) as refusal:
        method_add(facts=ROW, qualification=None, mix=build.MixFactory(), stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["mix"]


def test_it_changes_all_but_the_code(stamp):
    method = add(stamp)
    facts = {**ROW, "code": "other", "summary": "Cut it."}
    method_edit(method=method, facts=facts, expected=1, stamp=stamp, **NONE)
    kept = method_of(method.public_id)
    assert (kept.code, kept.facts["code"], kept.facts["summary"], kept.version) == ("cut", "cut", "Cut it.", 2)
    with pytest.raises(VersionMismatch):
        method_edit(method=method, facts=ROW, expected=1, stamp=stamp, **NONE)


def test_it_says_what_a_method_lacks(stamp):
    license = build.QualificationKindFactory()
    method = method_add(facts=SPRAY, qualification=license, mix=None, stamp=stamp)
    told = list(method_gaps(method, book_rates(method, books_in_force())))
    assert [words.split(":")[0] for words in told] == [
        "No rate book in force has rates for it",
        "It uses herbicide and has no mix",
    ]


def test_it_names_growth_forms_without_a_rate(stamp):
    book = build.RateBookFactory(state="in_force")
    build.RateFactory(book=book, method="cut", growth_form="climbing")
    method = add(stamp)
    (found,) = book_rates(method, books_in_force())
    assert (found.rows, "climbing" in found.missing, "shrub" in found.missing) == (1, False, True)
    assert methods_rated([book])[book.pk] == {"cut"}


def test_it_says_where_the_label_does_not_allow_it(stamp):
    product = build.ProductFactory(uses=["cut-stem"])
    mix = build.MixFactory(products=[(product, 2.0, "herbicide")])
    method = method_add(facts=SPRAY, qualification=build.QualificationKindFactory(), mix=mix, stamp=stamp)
    told = list(method_gaps(method_of(method.public_id), []))
    assert any(product.name in words for words in told)


def test_it_takes_no_mix_that_is_out_of_use(stamp):
    gone, kind = build.MixFactory(is_active=False), build.QualificationKindFactory()
    asked = {"facts": SPRAY, "qualification": kind, "stamp": stamp}
    with pytest.raises(Invalid) as refusal:
        method_add(mix=gone, **asked)
    assert [error.field for error in refusal.value.errors] == ["mix"]
    method = method_add(mix=None, **asked)
    with pytest.raises(Invalid):
        method_edit(method=method, mix=gone, expected=1, **asked)
    with pytest.raises(Invalid):
        mix_methods_set(mix=gone, methods=[method], stamp=stamp)
    with pytest.raises(Invalid):
        methods_load(rows=[SPRAY], qualification={SPRAY["code"]: kind}, mix={SPRAY["code"]: gone}, stamp=stamp)
    assert method_of(method.public_id).default_mix is None


def test_a_method_out_of_use_keeps_its_mix_and_comes_back_with_one_in_use(stamp):
    mix, kind = build.MixFactory(name="Leaf"), build.QualificationKindFactory()
    asked = {"facts": SPRAY, "qualification": kind, "stamp": stamp}
    method = method_add(mix=mix, **asked)
    method_deactivate(method=method, expected=1, stamp=stamp)
    mix_deactivate(mix=mix, expected=1, stamp=stamp)
    method_edit(method=method, mix=mix, expected=2, **{**asked, "facts": {**SPRAY, "summary": "As it was."}})
    with pytest.raises(NeedsOutOfUse) as refused:
        method_activate(method=method, expected=3, stamp=stamp)
    assert [error.message for error in refused.value.errors] == ["Leaf"]
    with pytest.raises(Invalid):
        method_edit(method=method, mix=mix, is_active=True, expected=3, **asked)
    mix_activate(mix=mix, expected=2, stamp=stamp)
    assert method_activate(method=method, expected=3, stamp=stamp).is_active
