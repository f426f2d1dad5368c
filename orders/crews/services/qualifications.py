"""Writes of what people may do: the kinds, and who holds one, where and until when."""

from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, row_edit, unversioned_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person, Qualification, QualificationKind
from orders.sites.models import Jurisdiction


@writing()
def qualification_kind_add(*, stamp: Stamp, code: str, name: str, is_license: bool = False) -> QualificationKind:
    row = QualificationKind(code=code, name=name, is_license=is_license)
    return row_add(row, stamp=stamp, verb="qualification_kind_add")


@writing()
def qualification_kind_edit(
    *, kind: QualificationKind, values: dict[str, Any], read: str | None = None, stamp: Stamp
) -> QualificationKind:
    """Change a kind's name, or whether it is a license. A license says where it holds: one that is held without a
    place must be given one first."""
    found = Findings()
    unplaced = kind.holders.filter(jurisdiction__isnull=True).select_related("person")
    if values.get("is_license") and not kind.is_license and (holder := unplaced.first()) is not None:
        message = f"{holder.person} holds it without a jurisdiction. A license says where it holds: give it one first."
        found.need(False, "is_license", message)
    found.refuse("The kind of qualification was not changed.")
    return unversioned_edit(kind, stamp=stamp, verb="qualification_kind_edit", read=read, values=values)


@writing()
def qualification_add(
    *,
    stamp: Stamp,
    person: Person,
    kind: QualificationKind,
    first_day: date,
    last_day: date,
    jurisdiction: Jurisdiction | None = None,
    number: str = "",
    category: str = "",
    supervised_by: Person | None = None,
) -> Qualification:
    """Record what a person may do, and until when. A license names its jurisdiction: it holds nowhere else."""
    row = Qualification(
        person=person,
        kind=kind,
        jurisdiction=jurisdiction,
        number=number,
        category=category,
        supervised_by=supervised_by,
        first_day=first_day,
        last_day=last_day,
    )
    return row_add(row, stamp=stamp, verb="qualification_add", findings=_wrong_with(row))


@writing()
def qualification_edit(
    *, qualification: Qualification, values: dict[str, Any], expected: int, stamp: Stamp
) -> Qualification:
    """Correct where it holds, its number, category, days or supervisor. Whose it is and of which kind stays: another
    is another qualification."""
    proposed = Qualification.objects.select_related("person", "kind").get(pk=qualification.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    _wrong_with(proposed).refuse("The qualification was not changed.")
    return row_edit(qualification, stamp=stamp, verb="qualification_edit", expected=expected, values=values)


@writing()
def qualification_end(*, qualification: Qualification, last_day: date, expected: int, stamp: Stamp) -> Qualification:
    """It holds to that day and no longer: given back, or taken away. A day after its last is refused: to renew a
    license, add the new one."""
    found = Findings()
    found.days_in_order(qualification.first_day, last_day)
    message = f"It ends on {qualification.last_day} by itself. A renewed one is added beside it."
    found.need(last_day <= qualification.last_day, "last_day", message)
    found.refuse("The qualification was not ended.")
    values = {"last_day": last_day}
    return row_edit(qualification, stamp=stamp, verb="qualification_end", expected=expected, values=values)


def _wrong_with(row: Qualification) -> Findings:
    found = Findings()
    found.days_in_order(row.first_day, row.last_day)
    placed = not row.kind.is_license or row.jurisdiction is not None
    found.need(placed, "jurisdiction", "A license says where it holds.")
    found.need(row.supervised_by != row.person, "supervised_by", "Nobody supervises themselves.")
    return found
