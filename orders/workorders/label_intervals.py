"""The label's days between two uses of a product on the same ground, and its uses a year there.

The days of one pass over a patch are one use. The label is read cautiously: whatever may overlap is the same ground,
and uses that are planned count like those that were made. A mandatory limit: nobody may let it pass.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from estimating.label_sums import Ground
from estimating.labels import Application, Finding, LimitKind
from orders.supplies.models import LabelUse

Limits = dict[tuple[str, str], LabelUse]


def interval_findings(
    proposed: Sequence[Application], prior: Sequence[Application], grounds: Iterable[Ground]
) -> Iterator[Finding]:
    """Where a proposed use comes too soon before or after another, or once too often in its calendar year."""
    limits = _limits({use.product for use in proposed})
    if not limits:
        return
    by_row: dict[str, list[Application]] = defaultdict(list)
    for use in (*proposed, *prior):
        by_row[use.row].append(use)
    asked = {use.row for use in proposed}
    said: set[tuple[str, str, str]] = set()
    for ground in grounds:
        uses = [use for row in sorted(ground) for use in by_row[row]]
        for use in uses:
            limit = limits.get((use.product, use.method))
            if limit is not None and use.row in asked:
                for finding in _of_use(use, uses, limit):
                    if (key := (finding.code, use.row, use.product)) not in said:
                        said.add(key)
                        yield finding


def _limits(products: set[str]) -> Limits:
    rows = LabelUse.objects.filter(product__code__in=products).select_related("product").order_by("id")
    return {
        (row.product.code, row.method): row
        for row in rows
        if row.least_days_between is not None or row.most_uses_a_year is not None
    }


def _of_use(use: Application, uses: Iterable[Application], limit: LabelUse) -> Iterator[Finding]:
    others = [other for other in uses if other.product == use.product and _pass(other) != _pass(use)]
    name = limit.product.name
    nearest = min(others, key=lambda other: abs((other.on - use.on).days), default=None)
    if nearest and limit.least_days_between is not None:
        days = abs((nearest.on - use.on).days)
        if days < limit.least_days_between:
            message = f"{name} on {use.on} is {days} days from its use on {nearest.on} on the same ground"
            least = f"its label asks for {limit.least_days_between}"
            yield _finding(use, "interval-too-short", f"{message}; {least}.", (use.row, nearest.row), limit)
    if limit.most_uses_a_year is not None:
        passes = {_pass(other) for other in others if other.on.year == use.on.year}
        if len(passes) + 1 > limit.most_uses_a_year:
            message = f"{name} on {use.on} would be use {len(passes) + 1} on the same ground in {use.on.year}"
            most = f"its label allows {limit.most_uses_a_year} a year"
            yield _finding(use, "too-many-uses", f"{message}; {most}.", (use.row,), limit)


def _pass(use: Application) -> str | tuple[str, date]:
    return use.work or (use.row, use.on)


def _finding(use: Application, code: str, message: str, rows: tuple[str, ...], limit: LabelUse) -> Finding:
    return Finding(
        kind=LimitKind.MANDATORY,
        code=code,
        message=message,
        rows=rows,
        proposed=(use.row,),
        product=use.product,
        reference=limit.reference,
    )
