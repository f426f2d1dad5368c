"""A purchase order as a paper."""

from typing import Any

from orders.desk.papers import Paper, Part

COLUMNS = ("Line", "What for", "Quantity", "For", "Paid by", "Amount")
SIGNATURES = ("Approved by, and day", "Vendor, and day")


def purchase_paper(purchase: Any) -> Paper:
    lines = list(purchase.lines.all())
    rows = [_row(line) for line in lines]
    total = f"${sum(line.amount_cents for line in lines) / 100:,.2f}"
    return Paper(
        title=f"Purchase order {purchase.number}",
        subtitle=f"To {purchase.vendor}. {purchase.get_state_display()}.",
        language="en",
        parts=[
            Part("Order", facts=_facts(purchase)),
            Part("Lines", columns=COLUMNS, rows=[*rows, ("", "Total", "", "", "", total)]),
        ],
        signatures=SIGNATURES,
    )


def _facts(purchase: Any) -> list[tuple[str, str]]:
    approved = f"{purchase.approved_by}, {purchase.approved_at:%Y-%m-%d}" if purchase.approved_at else "not yet"
    found = [
        ("Vendor", " ".join([str(purchase.vendor), purchase.vendor.contact]).strip()),
        ("Ordered on", str(purchase.ordered_on)),
        ("Wanted by", str(purchase.wanted_by or "")),
        ("Subaward", "Part of an award that another carries out" if purchase.is_subaward else ""),
        ("Note", purchase.note),
        ("Approved", approved),
    ]
    return [(name, words) for name, words in found if words]


def _row(line: Any) -> tuple[str, ...]:
    where = [str(line.work_order) if line.work_order else "", line.site.name if line.site else ""]
    paid = line.fund.code + (f" / {line.award.code}" if line.award else "")
    return (
        str(line.number),
        line.description,
        f"{line.quantity.normalize():f} {line.unit}",
        ", ".join(word for word in where if word) or "the program",
        paid,
        f"${line.amount_cents / 100:,.2f}",
    )
