"""How things stand on a day: what is left to spend, awards, effort, stock, and what a season still needs to buy."""

from collections.abc import Iterator, Mapping
from typing import Any

from estimating.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON
from orders.common.models import User
from orders.costs.effort_selectors import effort_statements
from orders.costs.fund_selectors import held_charges
from orders.costs.models import Award
from orders.costs.purchase_list import purchase_list
from orders.costs.selectors import costs_open_to
from orders.costs.spending import left_to_spend
from orders.costs.statements import award_statement
from orders.costs.stock_selectors import stock_on_hand
from orders.planning.selectors import seasons
from orders.reports.as_of import books_day
from orders.reports.asking import asked_read, month_after
from orders.reports.lines import Line
from orders.reports.table import Column, Table

KINDS = {"fund": "Fund", "award": "Award", "budget": "Budget"}
ML_PER_GALLON = 1000 * LITRES_PER_US_GALLON
# a lot's own unit -> what people read, and how many of its own that is
READ_UNITS = {"uL": ("gal", 1e6 * LITRES_PER_US_GALLON), "mg": ("lb", 1e6 * KILOGRAMS_PER_POUND)}
READ_DECIMALS = 3
E4_PER_PERCENT = 100


def spending_table(actor: User, query: Mapping[str, str]) -> Table:
    """A fund's own row holds what its awards and budgets hold too, so the rows are not summed."""
    asked = asked_read(query)
    columns = (
        Column("kind", "What limits", "text"),
        Column("fund", "Fund", "text"),
        Column("name", "Name", "text"),
        Column("limit_cents", "Limit", "cents"),
        Column("actual_cents", "Spent", "cents"),
        Column("committed_cents", "Committed", "cents"),
        Column("left_cents", "Left to spend", "cents"),
    )
    rows = [
        (
            KINDS[row.kind],
            row.fund.code,
            row.name,
            row.limit_cents,
            row.actual_cents,
            row.committed_cents,
            row.left_cents,
        )
        for row in left_to_spend(actor, fund=asked.fund)
    ]
    told = ("A fund's row holds what stands in the rows of its awards and budgets.",)
    return Table("Left to spend", (*asked.told(), *told), columns, rows)


def award_table(actor: User, query: Mapping[str, str]) -> Table:
    costs_open_to(actor)
    asked = asked_read(query)
    until = books_day(asked)
    columns = (
        Column("award", "Award", "text"),
        Column("name", "Name", "text"),
        Column("direct_cents", "Direct", "cents", total=True),
        Column("indirect_cents", "Indirect", "cents", total=True),
        Column("total_cents", "Charged", "cents", total=True),
        Column("ceiling_cents", "Ceiling", "cents", total=True),
        Column("left_cents", "Left", "cents", total=True),
        Column("match_required_cents", "Match required", "cents", total=True),
        Column("match_earned_cents", "Match earned", "cents", total=True),
        Column("held_cents", "Waits for finance", "cents", total=True),
        Column("last_day", "Ends", "day"),
        Column("days_left", "Days left", "whole"),
    )
    chosen = Award.objects.filter(pk=asked.award.pk) if asked.award else Award.objects.all()
    chosen = chosen.filter(fund=asked.fund) if asked.fund else chosen
    rows = []
    for award in chosen.order_by("code"):
        found = award_statement(actor, award, until)
        money = (found.direct_cents, found.indirect_cents, found.total_cents, award.ceiling_cents)
        match = (found.ceiling_left_cents, found.match_required_cents, found.match_earned_cents, found.held_cents)
        cells = (award.code, award.name, *money, *match, award.last_day, found.days_left)
        rows.append(Line.of(cells, award=award.code, book="cost"))
    return Table("Awards", (f"By posting month, until {until}.",), columns, rows)


def effort_table(actor: User, query: Mapping[str, str]) -> Table:
    """The lines of standing statements: minutes and shares, and no pay."""
    costs_open_to(actor)
    asked = asked_read(query)
    columns = (
        Column("person", "Person", "text"),
        Column("first_day", "From", "day"),
        Column("last_day", "To", "day"),
        Column("state", "State", "text"),
        Column("activity", "Work", "text"),
        Column("fund", "Fund", "text"),
        Column("award", "Award", "text"),
        Column("minutes", "Hours", "minutes", total=True),
        Column("share", "Share", "percent"),
        Column("confirmed", "Confirmed by", "text"),
    )
    rows = effort_statements(actor).exclude(state="replaced")
    rows = rows.filter(first_day__gte=asked.month_from) if asked.month_from else rows
    rows = rows.filter(first_day__lt=month_after(asked.month_to)) if asked.month_to else rows
    return Table("Effort", asked.told(), columns, list(_effort_rows(rows)))


def _effort_rows(statements: Any) -> Iterator[tuple[Any, ...]]:
    for one in statements:
        for line in one.lines.all():
            yield (
                one.person.name,
                one.first_day,
                one.last_day,
                one.get_state_display(),
                line.activity,
                line.fund.code if line.fund else "",
                line.award.code if line.award else "",
                line.minutes,
                line.share_e4 / E4_PER_PERCENT,
                one.confirmed_name,
            )


def stock_table(actor: User, query: Mapping[str, str]) -> Table:
    asked = asked_read(query)
    found = stock_on_hand(actor, books_day(asked))
    columns = (
        Column("product", "Product", "text"),
        Column("lot", "Lot", "text"),
        Column("amount", "On hand", "number"),
        Column("unit", "Unit", "text"),
        Column("value_cents", "Worth", "cents", total=True),
    )
    rows = []
    for row in found.rows:
        unit, own = READ_UNITS[row.unit]
        rows += [
            (row.product.name, one.lot.lot_number, round(one.amount / own, READ_DECIMALS), unit, one.value_cents)
            for one in row.lots
        ]
    waiting = (_some(found.waiting, "1 movement has", "movements have") + " no value yet.",) if found.waiting else ()
    told = (f"What was there on {found.on} and what it was worth.", *waiting)
    return Table("Stock on hand", told, columns, rows, ("Total", None, None, None, found.value_cents))


def _some(count: int, one: str, many: str) -> str:
    return one if count == 1 else f"{count} {many}"


def _gallons(volume_ml: float) -> float:
    return round(volume_ml / ML_PER_GALLON, READ_DECIMALS)


def purchase_list_table(actor: User, query: Mapping[str, str]) -> Table:
    costs_open_to(actor)
    asked = asked_read(query)
    columns = (
        Column("product", "Product", "text"),
        Column("need_gal", "Needed, gallons", "number"),
        Column("stock_gal", "In stock, gallons", "number"),
        Column("containers", "To buy", "text"),
        Column("spare_gal", "Left over, gallons", "number"),
        Column("cost_cents", "Cost", "cents", total=True),
    )
    season = asked.season or seasons().first()
    if season is None:
        return Table("To buy", ("There is no season yet.",), columns, [])
    found = purchase_list(actor, season, books_day(asked))
    rows = [
        (
            row.product.name,
            _gallons(row.need_ml),
            _gallons(row.stock_ml),
            ", ".join(f"{one.count} of {_gallons(one.volume_ml):g} gal" for one in row.containers) or "nothing",
            _gallons(row.spare_ml),
            row.cost_cents,
        )
        for row in found.rows
    ]
    told = [f"What work of {season} still takes from {found.on} on, less stock."]
    if found.without_price:
        some = _some(found.without_price, "1 product has", "products have")
        told.append(f"{some} no price, so what it costs is not in the sum.")
    total = ("Total", None, None, None, None, found.cost_cents)
    return Table(f"To buy for {season}", tuple(told), columns, rows, total)


def held_table(actor: User, query: Mapping[str, str]) -> Table:
    """What waits for a decision on who pays, the oldest first."""
    asked = asked_read(query)
    columns = (
        Column("work_date", "Day of the work", "day"),
        Column("fund", "Meant for fund", "text"),
        Column("award", "Award", "text"),
        Column("category", "Category", "text"),
        Column("order", "Work order", "text"),
        Column("person", "Person", "text"),
        Column("amount_cents", "Amount", "cents", total=True),
        Column("message", "Why it waits", "text"),
    )
    waiting = held_charges(actor).filter(state="waiting")
    waiting = waiting.filter(fund=asked.fund) if asked.fund else waiting
    rows = [
        (
            row.work_date,
            row.fund.code,
            row.award.code if row.award else "",
            row.get_category_display(),
            str(row.order.number) if row.order else "",
            row.person.name if row.person else "",
            row.amount_cents,
            row.message,
        )
        for row in waiting
    ]
    return Table("Charges that wait for a decision", asked.told(), columns, rows)
