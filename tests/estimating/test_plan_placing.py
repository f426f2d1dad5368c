"""Why a visit is where it is: each sentence is held against the independent check of the plans that it speaks of."""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import pytest

from estimating.errors import UnknownCode
from estimating.plan import Assignment, Chain
from estimating.plan_placing import why_placed
from estimating.schedule import schedule
from tests.estimating.planned import (
    MONDAY,
    crew,
    day,
    faults_with,
    random_season,
    rich_season,
    season,
    visit,
    with_move,
)

DAY = r"Mar \d+"
MONEY = r"\$[\d,.]+"
DAYS_FAULTS = ("outside its window", "outside the season", "is closed on", "which it comes after", "days after")


def found_in(pattern, words):
    found = re.search(pattern, words)
    assert found, words
    return found


def cents(words):
    return round(100 * float(words.strip("$.").replace(",", "")))


def named_day(words):
    return MONDAY.replace(day=int(words.split()[1]))


def cost(facts, assignments):
    """Hours worked, and the drive once for each crew, day and site."""
    needs, crews = {need.id: need for need in facts.visits}, {each.id: each for each in facts.crews}
    worked = sum(
        needs[entry.visit].hours * crews[entry.crew].cost_cents_per_hour + needs[entry.visit].other_cents
        for entry in assignments
    )
    trips = {(entry.crew, entry.day, needs[entry.visit].site) for entry in assignments}
    return worked + sum(facts.drive_hours(crews[c], site) * crews[c].cost_cents_per_hour for c, _, site in trips)


class Facts:
    """A visit of a plan, and what other places would be like by the check."""

    def __init__(self, facts, plan, entry):
        self.facts, self.plan, self.entry = facts, plan, entry
        self.need = next(need for need in facts.visits if need.id == entry.visit)
        self.others = [each.id for each in facts.crews if each.id != entry.crew]
        self.faults = lru_cache(lambda crew_id, date: faults_with(facts, plan, entry.visit, crew_id, date))

    def barred(self, crew_id, date):
        return [fault for fault in self.faults(crew_id, date) if "budget" not in fault]

    def possible(self):
        bad = {d: any(w in f for f in self.faults(self.entry.crew, d) for w in DAYS_FAULTS) for d in self.facts.days}
        return [d for d, is_bad in bad.items() if not is_bad]

    def more(self, crew_id, date):
        there = with_move(self.plan, self.entry.visit, crew_id, date).assignments
        return cost(self.facts, there) - cost(self.facts, self.plan.assignments)

    def able(self):
        return [each.id for each in self.facts.crews if self.need.skills <= each.skills]

    # One for each sentence

    def window(self, first, last, rest):
        possible = self.possible()
        assert (named_day(first), named_day(last)) == (self.need.first_day, self.need.last_day)
        closed = [d for d in self.facts.closed_days[self.need.site] if self.facts.first_day <= d <= self.facts.last_day]
        told = re.search(r"closed on (\d+) days? of it", rest)
        assert int(told[1] if told else 0) == sum(self.need.first_day <= d <= self.need.last_day for d in closed)
        if only := re.search(rf"leaves only ({DAY})$", rest):
            assert possible == [named_day(only[1])]
        else:
            count = found_in(rf"(\d+) days(, ({DAY}) to ({DAY}))?$", rest)
            ends = count[3] or first, count[4] or last
            assert (len(possible), *map(named_day, ends)) == (int(count[1]), possible[0], possible[-1])
            assert count[2] or len(possible) == (self.need.last_day - self.need.first_day).days + 1
        for lag, other, on in re.findall(rf"comes (.*?) days? after visit (v\d+) \(({DAY})\)", rest):
            chain = next(c for c in self.facts.chains if (c.first, c.second) == (other, self.need.id))
            assert lag.split(" to ") == sorted({str(chain.least_days), str(chain.most_days)}, key=int)
            assert Assignment(other, self.crew_of(other), named_day(on)) in self.plan.assignments

    def crew_of(self, name):
        return next(entry.crew for entry in self.plan.assignments if entry.visit == name)

    def first(self, on):
        assert named_day(on) == self.entry.day == self.possible()[0]

    def no_room_before(self, on, bars):
        earlier = [d for d in self.possible() if d < self.entry.day]
        assert named_day(on) == self.entry.day
        assert all(self.barred(crew_id, d) for d in earlier for crew_id in [*self.others, self.entry.crew])
        assert sum(int(count) for count in re.findall(r"on (\d+) day", bars)) == len(earlier)

    def cheapest_before(self, on, crew_id, date, words):
        places = [(c.id, d) for d in self.possible() if d < self.entry.day for c in self.facts.crews]
        free = {place: self.more(*place) for place in places if not self.barred(*place)}
        assert min(free.values()) == pytest.approx(free[crew_id, named_day(date)], abs=0.01)
        self.beside(crew_id, named_day(date), words)

    def beside(self, crew_id, date, words):
        more = self.more(crew_id, date)
        if "the same" in words:
            assert more == pytest.approx(0, abs=0.01)
        else:
            told = cents(found_in(MONEY, words)[0])
            assert more * (1 if "more" in words else -1) == pytest.approx(told, abs=51)
        assert ("the money does not reach" in words) <= bool(self.faults(crew_id, date))
        assert bool(self.faults(crew_id, date)) <= ("does not reach" in words or " more" in words)

    def cheapest_that_day(self, crew_id, on, other, words):
        free = [c for c in self.others if not self.barred(c, self.entry.day)]
        assert crew_id == self.entry.crew
        assert min(self.more(c, self.entry.day) for c in free) > 0
        self.beside(other, named_day(on), words)

    def that_day(self, on, other, words):
        assert not self.barred(other, self.entry.day)
        self.beside(other, named_day(on), words)

    def no_other(self, on, bars):
        assert all(self.barred(c, self.entry.day) for c in self.others)
        for crew_id in re.findall(r"crew (c\d+)", bars):
            assert crew_id in self.able()

    def only(self, crew_id, skills):
        assert self.able() == [crew_id]
        assert set(skills.split(" and ")) == self.need.skills

    def single(self, crew_id):
        assert [each.id for each in self.facts.crews] == [crew_id]

    def shares(self, crew_id, site, count, saved):
        here = [
            need.id
            for need in self.facts.visits
            for entry in self.plan.assignments
            if entry.visit == need.id != self.need.id
            and (entry.crew, entry.day, need.site) == (crew_id, self.entry.day, site)
        ]
        supply = next(each for each in self.facts.crews if each.id == crew_id)
        assert len(here) == int(count)
        road = self.facts.drive_hours(supply, site) * supply.cost_cents_per_hour
        assert road == pytest.approx(cents(saved), abs=51)

    def closes(self, _, on, count):
        assert named_day(on) == self.need.last_day
        assert (self.need.last_day - self.entry.day).days == int(count)

    def last_day(self, _):
        assert self.entry.day == self.need.last_day

    def former(self):
        return [each for each in self.facts.previous if each.visit == self.need.id]

    def as_before(self):
        assert self.former() == [self.entry]

    def moved(self, crew_id, on, words):
        assert self.former() == [Assignment(self.need.id, crew_id, named_day(on))]
        if words.startswith("which would"):
            assert not self.barred(crew_id, named_day(on))
            self.beside(crew_id, named_day(on), words)
        else:
            assert self.barred(crew_id, named_day(on))

    def new(self):
        assert self.former() == []


SENTENCES: dict[str, Callable[..., None]] = {
    rf"Its window is ({DAY}) to ({DAY})(.*)\.": Facts.window,
    rf"({DAY}) is the first possible day\.": Facts.first,
    rf"No able crew had room before ({DAY}): (.*)\.": Facts.no_room_before,
    rf"Before ({DAY}) the cheapest place, crew (c\d+) on ({DAY}), (would cost .*)\.": Facts.cheapest_before,
    rf"Crew (c\d+) is the cheapest with room on ({DAY}): crew (c\d+) (would cost .*)\.": Facts.cheapest_that_day,
    rf"On ({DAY}) crew (c\d+) (would cost .*)\.": Facts.that_day,
    rf"On ({DAY}) no other able crew had room: (.*)\.": Facts.no_other,
    r"Only crew (c\d+) has (.*)\.": Facts.only,
    r"There is no crew but (c\d+)\.": Facts.single,
    rf"Crew (c\d+) is at site (\w+) that day anyway, for (\d+) other visits?: sharing the drive saves ({MONEY})\.": (
        Facts.shares
    ),
    rf"(It is owed follow-up\. )?Its window closes on ({DAY}), (\d+) days? later\.": Facts.closes,
    r"(It is owed follow-up\. )?It is the last day of its window\.": Facts.last_day,
    r"The plan before had it here too\.": Facts.as_before,
    rf"The plan before had it with crew (c\d+) on ({DAY}), (.*)\.": Facts.moved,
    r"It is new: the plan before did not have it\.": Facts.new,
}


def hold(facts, plan, entry, words):
    """Check a sentence, and tell its kind."""
    for number, (pattern, look) in enumerate(SENTENCES.items()):
        found = re.fullmatch(pattern, words)
        if found:
            look(Facts(facts, plan, entry), *found.groups())
            return number
    raise AssertionError(words)


def checked(facts, plan):
    """Check all sentences on visits that are not fixed; how many there were of each kind."""
    kinds: Counter[int] = Counter()
    standing = {entry.visit for entry in facts.fixed}
    why = why_placed(facts, plan)
    assert why.keys() == {entry.visit for entry in plan.assignments}
    for entry in plan.assignments:
        assert 2 <= len(why[entry.visit]) <= 5
        if entry.visit not in standing:
            kinds.update(hold(facts, plan, entry, words) for words in why[entry.visit])
    return kinds


def test_each_sentence_is_true():
    kinds: Counter[int] = Counter()
    for seed in range(14):
        facts = rich_season(seed, 22, budget=(None, 150_000)[seed % 2])
        standing = {entry.visit for entry in facts.fixed}
        facts = replace(facts, chains=tuple(each for each in facts.chains if each.second not in standing))
        kinds += checked(facts, schedule(facts, (0, 30)[seed % 2]))
    for seed in range(4):
        facts = random_season(seed, 25, 1 + seed % 3)
        kinds += checked(facts, schedule(facts, 30))
    assert set(range(len(SENTENCES))) - set(kinds) == set()


WIDE = {"last_day": day(13)}


def test_it_tells_the_whole_story_of_a_visit():
    visits = [visit("cut", hours=14, last_day=day(2)), visit("spray", hours=6, skills={"applicator"}, **WIDE)]
    facts = season(
        [*visits, visit("pull", hours=6, first_day=day(5), **WIDE)],
        [crew("c1"), crew("c2", skills={"crew"}), crew("c3", cost_cents_per_hour=9_000)],
        chains=[Chain(first="cut", second="spray", least_days=5, most_days=9)],
        closed_days={"north": {day(3), day(7)}},
    )
    places = [Assignment("cut", "c2", MONDAY), Assignment("spray", "c1", day(5)), Assignment("pull", "c1", day(5))]
    assert why_placed(facts, places)["spray"] == (
        "Its window is Mar 1 to Mar 14; site north is closed on 2 days of it; it comes 5 to 9 days after visit cut "
        "(Mar 1). That leaves 4 days, Mar 6 to Mar 10.",
        "Mar 6 is the first possible day.",
        "Crew c1 is the cheapest with room on Mar 6: crew c3 would cost $540 more.",
        "Crew c1 is at site north that day anyway, for 1 other visit: sharing the drive saves $60.",
        "Its window closes on Mar 14, 8 days later.",
    )


def test_it_says_what_barred_the_earlier_days():
    facts = season(
        [visit("v1", hours=14), visit("v2", hours=14, skills={"applicator"}, **WIDE)],
        [crew("c1", days_off={day(1)}, skills_away=((day(2), {"applicator"}),)), crew("c2", skills={"crew"})],
    )
    places = [Assignment("v1", "c1", MONDAY), Assignment("v2", "c1", day(3))]
    full, off, unable = "the able crews at work were full", "no able crew worked", "no crew at work had the skills"
    told = f"No able crew had room before Mar 4: on 1 day {full}, on 1 day {unable} and on 1 day {off}."
    assert why_placed(facts, places)["v2"][1] == told


def test_it_says_that_the_equipment_was_out():
    spraying = [visit(f"v{number}", equipment={"sprayer": 1}) for number in range(2)]
    facts = season(spraying, [crew("c1"), crew("c2")], equipment={"sprayer": 1})
    places = [Assignment("v0", "c1", MONDAY), Assignment("v1", "c2", day(1))]
    told = "No able crew had room before Mar 2: on 1 day the equipment was out with others."
    assert why_placed(facts, places)["v1"][1] == told


def test_it_says_that_a_visit_is_fixed_and_what_that_breaks():
    fixed = (Assignment("v1", "c1", day(6)),)
    facts = season([visit("v1", owed=True)], fixed=fixed)
    assert why_placed(facts, schedule(facts))["v1"] == (
        "It is fixed with crew c1 on Mar 7; the plan leaves it there.",
        "Its window is Mar 1 to Mar 5, 5 days.",
        "It is owed follow-up. Its window closed on Mar 5, 2 days before.",
    )


def test_it_says_when_another_place_would_cost_less():
    facts = season([visit("v1")], [crew("c1"), crew("c2", cost_cents_per_hour=2_000)])
    assert why_placed(facts, [Assignment("v1", "c1", day(1))])["v1"][1:3] == (
        "Before Mar 2 the cheapest place, crew c2 on Mar 1, would cost $120 less.",
        "On Mar 2 crew c2 would cost $120 less.",
    )


def test_it_leaves_no_single_move_that_would_cost_less():
    for seed in range(20):
        facts = random_season(seed, 40, budget=(None, 300_000)[seed % 2])
        told = [words for each in why_placed(facts, schedule(facts, 20)).values() for words in each]
        assert [words for words in told if words.endswith("less.")] == []


def test_it_says_where_a_moved_visit_was():
    before = (Assignment("v1", "c1", MONDAY),)
    facts = season([visit("v1"), visit("v2")], [crew(days_off={MONDAY})], previous=before)
    why = why_placed(facts, schedule(facts, 20))
    assert "The plan before had it with crew c1 on Mar 1, who did not work." in why["v1"]
    assert "It is new: the plan before did not have it." in why["v2"]


def test_it_names_the_year_in_a_long_season():
    facts = season([visit("v1")], last_day=day(400))
    assert why_placed(facts, schedule(facts))["v1"][0] == "Its window is Mar 1, 2027 to Mar 5, 2027, 5 days."


def test_it_refuses_a_plan_of_another_season():
    with pytest.raises(UnknownCode, match="v9 with c1"):
        why_placed(season([visit("v1")]), [Assignment("v9", "c1", MONDAY)])


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (Assignment("v1", "c1", day(9)), ["Mar 10 is not one of these days."]),
        (Assignment("v1", "c2", day(1)), ["Crew c2 lacks the skills."]),
        (Assignment("v2", "c1", day(1)), ["Crew c1 lacks the skills."]),
    ],
)
def test_it_says_what_a_plan_breaks(entry, told):
    facts = season([visit("v1", skills={"applicator"}), visit("v2", skills={"diver"})], [crew(), crew("c2", skills={})])
    assert set(told) < set(why_placed(facts, [entry])[entry.visit])
