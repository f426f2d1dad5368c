"""Rates of pay, and the rules of pay, overtime and match, of a program's documents."""

from typing import Any

from orders.common.stamp import Stamp
from orders.costs import services as costs
from orders.desk.documents import Entry, Rows, day, flag, text, whole
from orders.desk.subjects import Subject

FILE = "funds.json"


def _pay_rate(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return costs.pay_rate_set(
        stamp=stamp,
        person=entry.get("person", rows.one("people")),
        role=entry.may("role", rows.one("labor_roles"), None),
        from_day=entry.get("from_day", day),
        rate_e4=entry.may("rate_e4", whole, None),
        wage_e4=entry.may("wage_e4", whole, None),
        fringe_e4=entry.may("fringe_e4", whole, None),
        yearly_cents=entry.may("yearly_cents", whole, None),
        paid_hours=entry.may("paid_hours", whole, None),
        productive_hours=entry.may("productive_hours", whole, None),
    )


def _pay_policy(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return costs.pay_policy_set(
        stamp=stamp,
        from_day=entry.get("from_day", day),
        week_starts_on=entry.get("week_starts_on", whole),
        week_starts_minute=entry.may("week_starts_minute", whole, 0),
        time_zone=entry.get("time_zone", text),
        overtime_method=entry.get("overtime_method", text),
        rounding=entry.may("rounding", text, "exact"),
        spread=entry.may("spread", text, "week"),
        punch_minutes=entry.may("punch_minutes", whole, 0),
        premium_fringe_e4=entry.may("premium_fringe_e4", whole, 0),
        comp_time=entry.may("comp_time", flag, False),
        source=entry.get("source", text),
    )


def _overtime_rule(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return costs.overtime_rule_set(
        stamp=stamp,
        jurisdiction=entry.may("jurisdiction", rows.one("jurisdictions"), None),
        from_day=entry.get("from_day", day),
        week_minutes=entry.get("week_minutes", whole),
        day_minutes=entry.may("day_minutes", whole, None),
        day_double_minutes=entry.may("day_double_minutes", whole, None),
        seventh_day=entry.may("seventh_day", flag, False),
        reviewed_by=entry.may("reviewed_by", text, ""),
        source=entry.get("source", text),
    )


def _match_rate(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return costs.match_rate_set(
        stamp=stamp,
        person_type=entry.get("person_type", text),
        role=entry.get("role", rows.one("labor_roles")),
        from_day=entry.get("from_day", day),
        rate_e4=entry.get("rate_e4", whole),
        fringe_e4=entry.may("fringe_e4", whole, 0),
        source=entry.get("source", text),
    )


PAY = (
    Subject(FILE, "pay_rates", "", _pay_rate),
    Subject(FILE, "pay_policies", "", _pay_policy),
    Subject(FILE, "overtime_rules", "", _overtime_rule),
    Subject(FILE, "match_rates", "", _match_rate),
)
