"""The application record as a paper."""

from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from orders.desk.papers import Paper, Part, spoken
from orders.workorders.models import ApplicationRecord, RecordProfile
from orders.workorders.records.fields import BY_CODE
from orders.workorders.records.words import day_words, moment_words, record_lines


def record_paper(record: ApplicationRecord, language: str | None) -> Paper:
    with spoken(language) as known:
        zone = ZoneInfo(record.site.time_zone)
        lines = [(str(name), words or _("missing")) for _code, name, words in record_lines(record)]
        return Paper(
            title=_("Pesticide application record"),
            subtitle=f"{record.site.name}, {day_words(record.work_date)}",
            language=known,
            parts=[
                Part(_("What was recorded"), facts=lines),
                Part(_("Missing"), lines=[str(BY_CODE[code].name) for code in record.missing if code in BY_CODE]),
                Part(_("Signature and terms"), facts=_terms(record, zone)),
            ],
        )


def _terms(record: ApplicationRecord, zone: ZoneInfo) -> list[tuple[str, str]]:
    found = [
        (_("Signed by"), record.signed_by),
        (_("Signed"), moment_words(record.at, zone)),
        (_("Application ended"), moment_words(record.ended_at, zone)),
        (_("Due"), day_words(record.due_on)),
        (_("Kept until"), day_words(record.retain_until)),
        (_("Rule"), f"{record.profile.jurisdiction}: {record.profile.source}".strip(": ")),
        (_("Rule reviewed"), _review(record.profile)),
        (_("Revision"), str(record.revision)),
        (_("Reason of the amendment"), record.reason),
        (_("Record number"), str(record.public_id)),
    ]
    return [(name, words) for name, words in found if words]


def _review(profile: RecordProfile) -> str:
    if profile.reviewed_on is None:
        return _("not reviewed by a licensed person")
    return f"{profile.reviewed_by}, {day_words(profile.reviewed_on)}"
