"""Days taken out of windows: closures of the site, and what a label says of using a product again."""

from datetime import date

import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact, UnknownCode
from estimating.timing import Closure, LabelInterval, TimingFacts, window_report
from tests.estimating import make
from tests.estimating.test_timing import MARGINS, SITE, days

EVERGREEN = TimingFacts(evergreen=Known.YES, spring_ephemerals=Known.NO)
OPENS, CLOSES = date(2027, 11, 27), date(2028, 3, 28)


def spray(closures=(), labels=(), method="dormant-foliar"):
    return window_report(make.methods()[method], EVERGREEN, SITE, 2027, closures, MARGINS, labels=labels)


def used(on, least_days=0, **more):
    return LabelInterval(product="blue label", last_used_on=on, least_days=least_days, **more)


@pytest.mark.parametrize(
    ("kind", "reason", "words"),
    [
        ("hunting", "deer", "the site closes for hunting: deer"),
        ("event", "fun run", "the site closes for an event: fun run"),
        ("nesting", "owls", "the site closes for nests or roosts: owls"),
        ("wet_ground", "", "the site closes for wet ground"),
        ("burn", "unit 3", "the site closes for a prescribed burn: unit 3"),
        ("other", "bridge out", "the site closes: bridge out"),
    ],
)
def test_it_says_what_the_site_closes_for(kind, reason, words):
    found = spray([Closure(date(2027, 12, 4), date(2027, 12, 12), reason, kind)])
    assert found.windows[0].closes_because == words
    assert found.windows[1].opens_because == words.replace("closes", "opens")


def test_it_refuses_a_kind_it_does_not_know():
    with pytest.raises(UnknownCode, match="none of event"):
        Closure(OPENS, CLOSES, "", "party")


def test_it_closes_to_some_methods_only():
    nests = Closure(date(2028, 3, 1), date(2028, 8, 1), "owls", "nesting", frozenset({"dormant-foliar"}))
    found = spray([nests])
    assert days(found) == [(OPENS, date(2028, 2, 29))]
    assert found.windows[0].closes_because == "the site closes to this method for nests or roosts: owls"
    assert days(spray([nests], method="cut")) == days(spray(method="cut"))


def test_it_opens_no_earlier_than_the_labels_interval_after_the_last_use():
    found = spray(labels=[used(date(2027, 11, 20), 30)])
    assert days(found) == [(date(2027, 12, 20), CLOSES)]
    assert (
        found.windows[0].opens_because
        == "the label's interval of 30 days after the use of blue label on 2027-11-20 is over"
    )


def test_it_leaves_a_window_as_it_is_where_the_interval_is_over_before():
    assert spray(labels=[used(date(2027, 9, 1), 30)]) == spray()


def test_it_counts_the_longest_of_several_intervals():
    labels = [used(date(2027, 11, 20), 30), used(date(2027, 12, 1), 60), used(date(2027, 11, 28), 7)]
    assert days(spray(labels=labels)) == [(date(2028, 1, 30), CLOSES)]


def test_it_closes_the_year_in_which_the_labels_uses_are_used_up():
    twice = used(date(2028, 1, 20), most_uses_a_year=2, used_on=(date(2028, 1, 5), date(2028, 1, 20)))
    assert spray(labels=[twice]).windows == ()
    assert spray(labels=[twice]).notes == ("The label's interval, or its uses a year, leave no window open.",)


def test_it_opens_again_in_the_next_year():
    once = used(date(2027, 5, 1), most_uses_a_year=1)
    found = spray(labels=[once])
    assert days(found) == [(date(2028, 1, 1), CLOSES)]
    assert found.windows[0].opens_because == "2027 is over, with the label's 1 use a year of blue label"


def test_it_stays_open_while_uses_are_left():
    assert spray(labels=[used(date(2027, 5, 1), most_uses_a_year=2)]) == spray()


def test_it_says_which_of_the_two_leaves_nothing():
    shut = Closure(date(2027, 1, 1), date(2028, 12, 31), "burned bridge")
    assert spray([shut], [used(date(2028, 12, 1), 90)]).notes == ("Closures leave no window open.",)
    assert "label" in spray(labels=[used(date(2028, 12, 1), 90)]).notes[0]


@pytest.mark.parametrize(
    ("wrong", "field"), [({"least_days": -1}, "least_days"), ({"most_uses_a_year": 0}, "most_uses_a_year")]
)
def test_it_refuses_a_label_that_makes_no_sense(wrong, field):
    with pytest.raises(InvalidFact, match=field):
        used(OPENS, **wrong)
