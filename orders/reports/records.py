"""Application records as a table for other programs."""

from collections.abc import Iterable

from orders.reports.write_csv import texts_csv
from orders.workorders.models import ApplicationRecord
from orders.workorders.records.fields import FIELDS
from orders.workorders.records.words import record_lines

HEADINGS = (
    "work date",
    "site",
    "jurisdiction",
    "crew",
    "responsible",
    *(field.code.replace("_", " ") for field in FIELDS),
    "missing",
    "signed by",
    "signed at",
    "due",
    "keep until",
    "revision",
    "reason",
    "rule",
    "id",
)


def records_csv(rows: Iterable[ApplicationRecord]) -> str:
    return texts_csv(HEADINGS, map(_row, rows))


def _row(row: ApplicationRecord) -> list[str]:
    told = {code: words for code, _, words in record_lines(row)}
    return [
        row.work_date.isoformat(),
        row.site.code,
        row.site.jurisdiction.code,
        row.batch.crew.name,
        row.responsible.name,
        *(told.get(field.code, "") for field in FIELDS),
        " ".join(row.missing),
        row.signed_by,
        row.at.isoformat(),
        row.due_on.isoformat(),
        row.retain_until.isoformat(),
        str(row.revision),
        row.reason,
        row.profile.source,
        str(row.public_id),
    ]
