"""The rules of the seed deadline, without a database.

That it exists for climbing and sprawling components only, that fruit already seen makes it late and never later, and
that it lies before the fruiting range by a margin are the program's design; the figures are invented.
"""

from dataclasses import replace
from datetime import date

import pytest

from orders.reminders.seeding import FruitRange, SeedInputs, Sighting, seed_result

FALL = FruitRange((9, 1), (11, 30))
DUE = date(2027, 8, 18)
BEFORE, AFTER = date(2027, 8, 1), date(2027, 8, 19)


def inputs(*sightings, removed=(), fruits=FALL, year=2027):
    """Sightings as (day, fertile), newest first."""
    seen = tuple(Sighting(len(sightings) - n, day, fertile) for n, (day, fertile) in enumerate(sightings))
    return SeedInputs(year, "wintercreeper", "climbing", fruits, seen, tuple(removed))


MAY = (date(2027, 5, 3), "unknown")


def test_it_is_due_a_margin_before_the_fruiting_range():
    assert seed_result(inputs(MAY), BEFORE).due_on == DUE


@pytest.mark.parametrize(("today", "state"), [(BEFORE, "open"), (DUE, "open"), (AFTER, "missed")])
def test_it_is_missed_once_the_due_day_is_over(today, state):
    assert seed_result(inputs(MAY), today).state == state


@pytest.mark.parametrize("done", [date(2027, 5, 3), date(2027, 7, 1), DUE])
def test_it_is_met_by_work_from_the_survey_to_the_due_day(done):
    result = seed_result(inputs(MAY, removed=[done]), AFTER)
    assert (result.state, result.done_on) == ("met", done)


def test_it_is_missed_when_the_work_came_a_day_late_and_says_when():
    result = seed_result(inputs(MAY, removed=[AFTER]), date(2027, 9, 1))
    assert (result.state, result.done_on) == ("missed", AFTER)


def test_it_is_open_again_when_a_survey_after_the_work_still_finds_it():
    found_again = inputs((date(2027, 7, 1), "yes"), MAY, removed=[date(2027, 6, 1)])
    assert seed_result(found_again, BEFORE).state == "open"


def test_it_stays_met_when_a_survey_after_the_work_finds_it_gone():
    gone = inputs((date(2027, 7, 1), "no"), MAY, removed=[date(2027, 6, 1)])
    assert seed_result(gone, AFTER).state == "met"


def test_it_is_no_longer_owed_when_a_newer_survey_finds_it_gone_without_any_work():
    assert seed_result(inputs((date(2027, 7, 1), "no"), MAY), BEFORE).state == "ended"


@pytest.mark.parametrize(("removed", "state"), [([], "missed"), ([date(2027, 6, 1)], "met")])
@pytest.mark.parametrize("fall", ["no", "unknown"])
def test_it_does_not_change_what_was_when_the_patch_is_surveyed_in_fall(removed, state, fall):
    surveyed_again = inputs((date(2027, 10, 5), fall), MAY, removed=removed)
    assert seed_result(surveyed_again, date(2027, 10, 6)).state == state


def test_it_is_not_owed_for_a_year_whose_due_day_was_over_when_it_was_first_seen():
    assert seed_result(inputs((date(2027, 10, 5), "unknown")), date(2027, 10, 6)).state == "ended"


@pytest.mark.parametrize("day", [date(2027, 9, 1), date(2027, 10, 5), date(2027, 11, 30)])
def test_it_is_late_and_not_later_when_fruit_was_seen(day):
    result = seed_result(inputs((day, "yes")), day)
    assert (result.state, result.due_on) == ("late", DUE)


@pytest.mark.parametrize("day", [date(2027, 8, 31), date(2027, 12, 1)])
def test_it_does_not_take_a_fertile_plant_out_of_season_for_fruit(day):
    assert seed_result(inputs((day, "yes"), MAY), day).state == "missed"


def test_it_does_not_take_last_years_fruit_for_this_years():
    assert seed_result(inputs((date(2026, 10, 12), "yes")), BEFORE).state == "open"


def test_it_is_late_even_where_work_was_done_in_time_but_fruit_was_seen_all_the_same():
    fruit = inputs((date(2027, 10, 5), "yes"), MAY, removed=[date(2027, 6, 1)])
    result = seed_result(fruit, date(2027, 10, 6))
    assert (result.state, result.done_on) == ("late", None)


def test_it_says_when_late_work_was_done():
    fruit = inputs((date(2027, 10, 5), "yes"), removed=[date(2027, 10, 9)])
    result = seed_result(fruit, date(2027, 10, 10))
    assert (result.state, result.done_on) == ("late", date(2027, 10, 9))


def test_it_is_not_late_any_more_when_a_newer_survey_finds_no_fertile_plant():
    cleared = inputs((date(2027, 10, 20), "no"), (date(2027, 10, 5), "yes"), MAY)
    assert seed_result(cleared, date(2027, 10, 21)).state == "missed"


def test_it_reads_a_range_that_crosses_the_new_year():
    winter = FruitRange((11, 15), (2, 10))
    result = seed_result(inputs((date(2027, 12, 20), "yes"), fruits=winter), date(2027, 12, 21))
    assert (result.state, result.due_on) == ("late", date(2027, 11, 1))


def test_it_is_not_owed_where_nobody_knows_when_the_species_fruits():
    result = seed_result(inputs(MAY, fruits=None), BEFORE)
    assert (result.state, result.because) == ("ended", "Nobody has entered when wintercreeper fruits.")


def test_it_gives_its_reason():
    because = seed_result(inputs((date(2027, 5, 3), "yes")), BEFORE).because
    assert because == (
        "Surveyed on May 3, 2027, climbing: it fruits; fruiting begins, less 14 days. "
        "Wintercreeper fruits from September 1, 2027."
    )


@pytest.mark.parametrize(
    "changed",
    [
        {"year": 2028},
        {"fruits": FruitRange((9, 2), (11, 30))},
        {"sightings": (Sighting(9, date(2027, 5, 3), "unknown"),)},
        {"removed_on": (BEFORE,)},
    ],
    ids=lambda changed: next(iter(changed)),
)
def test_it_has_a_fingerprint_of_every_input(changed):
    one = inputs(MAY)
    assert replace(one, **changed).fingerprint(is_past=False) != one.fingerprint(is_past=False)


def test_it_has_a_fingerprint_that_changes_when_the_due_day_is_over():
    assert inputs(MAY).fingerprint(is_past=True) != inputs(MAY).fingerprint(is_past=False)


def flowering(*sightings, **facts):
    """Sightings as (day, fertile, condition), newest first; six weeks from flower to fruit (invented)."""
    seen = tuple(Sighting(len(sightings) - n, *told) for n, told in enumerate(sightings))
    return SeedInputs(2027, "wintercreeper", "climbing", FALL, seen, **{"removed_on": (), **facts})


FLOWERS = (date(2027, 6, 20), "unknown", "flowers")


def test_it_is_due_sooner_when_flowers_were_seen():
    result = seed_result(flowering(FLOWERS, flower_to_fruit_days=42), date(2027, 6, 21))
    assert (result.state, result.due_on) == ("open", date(2027, 7, 18))
    assert "flowers were seen on 2027-06-20" in result.because


@pytest.mark.parametrize("facts", [{}, {"flower_to_fruit_days": 120}, {"flowers_first": (6, 1)}])
def test_it_is_never_due_later_by_flowers(facts):
    assert seed_result(flowering(FLOWERS, **facts), date(2027, 6, 21)).due_on == DUE


def test_it_takes_the_days_between_the_ranges_where_the_species_names_none():
    early = (date(2027, 5, 20), "unknown", "flowers")
    assert seed_result(flowering(early, flowers_first=(6, 1)), date(2027, 5, 21)).due_on == date(2027, 8, 6)


def test_it_is_owed_though_flowers_put_the_due_day_before_the_survey_that_saw_them():
    result = seed_result(flowering(FLOWERS, flower_to_fruit_days=5), date(2027, 6, 21))
    assert (result.state, result.due_on) == ("missed", date(2027, 6, 11))


def test_it_is_late_when_the_survey_says_fruit_even_outside_the_species_range():
    result = seed_result(flowering((date(2027, 8, 1), "unknown", "fruit")), date(2027, 8, 2))
    assert (result.state, result.due_on) == ("late", date(2027, 8, 1))


@pytest.mark.parametrize("condition", ["none", "flowers"])
def test_it_does_not_take_a_fertile_plant_for_fruit_where_the_survey_says_what_it_saw(condition):
    seen = flowering((date(2027, 9, 10), "yes", condition), (*MAY, "unknown"))
    assert seed_result(seen, date(2027, 9, 11)).state == "missed"


def test_it_takes_fruit_in_winter_for_the_year_before():
    result = seed_result(flowering((date(2027, 2, 1), "yes", "fruit")), date(2027, 2, 2))
    assert (result.state, result.due_on) == ("open", DUE)
