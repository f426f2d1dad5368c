"""Overtime: a list of weeks, and one week opened, with what was taken back."""

from django.urls import reverse

from tests.costs.weeks import Weeks, newest

FULL = [(day, 480) for day in range(1, 6)]


def _weeks():
    weeks = Weeks()
    for number, name in enumerate(("R. Teasel", "P. Sedge", "A. Larkspur")):
        person, order = weeks.person(name, 173_500 + 21_250 * number), weeks.order(prescriptions=2)
        weeks.close(order, *((person, day, minutes) for day, minutes in [*FULL, (6, 90 + 85 * number)]))
        weeks.sheet(person, 0, ("shop", 45), ("training", 60))
    return weeks, person, order


def listed() -> str:
    _weeks()
    return reverse("overtime")


def week() -> str:
    _, person, _ = _weeks()
    return reverse("overtime-week", args=[newest(person).public_id])


def replaced() -> str:
    weeks, person, order = _weeks()
    before = newest(person)
    weeks.amend(order, *((person, day, minutes) for day, minutes in FULL))
    return reverse("overtime-week", args=[before.public_id])


STATES = {
    "overtime": listed,
    "overtime-empty": lambda: reverse("overtime"),
    "overtime-week": week,
    "overtime-week-replaced": replaced,
}
