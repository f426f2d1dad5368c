"""Rules on records that a program had changed go on where records are; the others are there already."""

from datetime import date
from importlib import import_module
from types import SimpleNamespace
from uuid import uuid4

import pytest

from orders.workorders.models import RecordProfile

pytestmark = pytest.mark.django_db

copy = import_module("orders.reminders.migrations.0006_copy_record_rules").copy


def rule(jurisdiction, counts, days, **facts):
    told = {"first_day": date(1990, 1, 1), "last_day": None, "scope": "Invented scope", "source": "Invented", **facts}
    return SimpleNamespace(jurisdiction=jurisdiction, counts=counts, days=days, public_id=uuid4(), **told)


def copied(*rules):
    """The table of rules is gone by now: a list stands for it."""
    table = SimpleNamespace(objects=SimpleNamespace(order_by=lambda *fields: list(rules)))
    copy(SimpleNamespace(get_model=lambda app, name: table if name == "RecordRule" else RecordProfile), None)


def test_it_leaves_alone_what_nobody_had_changed():
    before = list(RecordProfile.objects.order_by("id").values())
    copied(rule("OH", "same_day", 0), rule("MO", "business_days", 3), rule("IN", "days", 30), rule("", "days", 14))
    assert list(RecordProfile.objects.order_by("id").values()) == before


def test_it_takes_a_changed_term_with_its_source():
    copied(rule("OH", "days", 1, last_day=date(2026, 12, 31)))
    row = RecordProfile.objects.get(jurisdiction="OH")
    assert (row.counts, row.days, row.source, row.last_day) == ("days", 1, "Invented", date(2026, 12, 31))
    assert row.keep_years == 3


def test_it_adds_a_later_rule_and_one_of_another_place():
    copied(rule("OH", "days", 2, first_day=date(2027, 1, 1)), rule("TN", "days", 5))
    later, other = RecordProfile.objects.get(first_day=date(2027, 1, 1)), RecordProfile.objects.get(jurisdiction="TN")
    assert (later.jurisdiction, later.days, "language" in later.required) == ("OH", 2, True)
    program = RecordProfile.objects.get(jurisdiction="")
    assert (other.days, other.required, other.version) == (5, program.required, 1)
