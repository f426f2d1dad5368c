"""Reads of views, files and schedules, in the actor's scope."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db.models import OuterRef, Q, QuerySet, Subquery

from orders.common.errors import NotFound, Refusal, RoleMissing, WrongState
from orders.common.models import User
from orders.common.models.run import DONE
from orders.common.models.user import ADMINISTRATOR, FINANCE
from orders.reports.asking import asked_read, month_read
from orders.reports.catalog import REPORTS, report_open_to
from orders.reports.models import ExportRun, ReportMail, ReportSchedule, SavedView

MONEY = (FINANCE, ADMINISTRATOR)
MONTH_END = "month-end"  # the hand-over of a month: no report of the catalog, but all of them


class FileGone(WrongState):
    """It is made anew when it is asked for anew."""

    code = "file_gone"
    title = "The file is gone"


def report_name(code: str) -> str:
    return "Hand-over of a month" if code == MONTH_END else REPORTS[code].name if code in REPORTS else code


def query_told(code: str, query: Mapping[str, str]) -> str:
    """What a report was asked for, in words; as it was asked where that can no longer be read."""
    if code == MONTH_END:
        return f"{month_read(query['month']):%B %Y}"
    cuts = REPORTS[code].cuts if code in REPORTS else {}
    cut = " and ".join(cuts.get(query[name], query[name]).lower() for name in ("by", "and") if query.get(name))
    try:
        asked = asked_read(query)
    except Refusal:
        return " ".join(query.values())
    on = f"On {asked.on:%B} {asked.on.day}, {asked.on.year}." if asked.on else ""
    return " ".join(words for words in (f"By {cut}." if cut else "", *asked.told(), on) if words)


def report_opens(actor: User | None, code: str) -> bool:
    """Whether the actor's role opens the report now."""
    if actor is None or not actor.is_active:
        return False
    try:
        report_check(actor, code)
    except Refusal:
        return False
    return True


def report_check(actor: User, code: str) -> None:
    """Refuse whoever may not see it, and what does not exist."""
    if code != MONTH_END:
        report_open_to(actor, code)
    elif not actor.has_role(*MONEY):
        raise RoleMissing("The hand-over of a month is open to finance.")


def export_runs(actor: User) -> QuerySet[ExportRun]:
    """Finance sees all; everybody else what they asked for."""
    rows = ExportRun.objects.select_related("asked_by").order_by("-id")
    return rows if actor.has_role(*MONEY) else rows.filter(asked_by=actor)


def export_get(actor: User, run_id: UUID) -> ExportRun:
    found = export_runs(actor).filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such file.")
    return found


def export_file(actor: User, run_id: UUID) -> tuple[ExportRun, Path]:
    """The file, for whose role opens the report still."""
    run = export_get(actor, run_id)
    report_check(actor, run.report)
    if run.state != DONE:
        raise WrongState("This file is not finished.")
    path = export_path(run)
    if path is None:
        raise FileGone(f"Files are kept for {settings.EXPORT_DAYS} days. Ask for it again.")
    return run, path


def export_path(run: ExportRun) -> Path | None:
    """Where the file is, or None once it was removed."""
    path = Path(settings.EXPORT_DIR).parent / run.file_path
    return path if run.file_path and path.is_file() else None


def views_of(actor: User) -> QuerySet[SavedView]:
    """One's own, and those that others share."""
    rows = SavedView.objects.select_related("owner").filter(Q(owner=actor) | Q(is_shared=True))
    opened = [code for code in REPORTS if report_opens(actor, code)]
    return rows.filter(report__in=opened).order_by("name", "id")


def view_get(actor: User, view_id: UUID) -> SavedView:
    found = views_of(actor).filter(public_id=view_id).first()
    if found is None:
        raise NotFound("There is no such view.")
    return found


def own_view_get(actor: User, view_id: UUID) -> SavedView:
    found = SavedView.objects.filter(owner=actor, public_id=view_id).first()
    if found is None:
        raise NotFound("There is no such view of yours.")
    return found


def schedules_of(actor: User) -> QuerySet[ReportSchedule]:
    """Of the reports that the actor's role opens."""
    opened = [code for code in REPORTS if report_opens(actor, code)]
    return ReportSchedule.objects.select_related("made_by").prefetch_related("recipients").filter(report__in=opened)


def schedule_get(actor: User, schedule_id: UUID) -> ReportSchedule:
    found = schedules_of(actor).filter(public_id=schedule_id).first()
    if found is None:
        raise NotFound("There is no such schedule.")
    return found


def mails_of(schedule: ReportSchedule) -> QuerySet[ReportMail]:
    return schedule.mails.select_related("recipient", "export").order_by("-due_at", "id")


def mails_newest(schedules: Sequence[ReportSchedule]) -> dict[int, ReportMail]:
    """By key of the schedule; one that mailed nothing yet has none."""
    of_each = ReportMail.objects.filter(schedule=OuterRef("pk")).order_by("-due_at", "id").values("pk")[:1]
    asked = ReportSchedule.objects.filter(pk__in=[row.pk for row in schedules]).order_by()
    newest = asked.annotate(newest=Subquery(of_each)).values("newest")
    return {mail.schedule_id: mail for mail in ReportMail.objects.filter(pk__in=newest)}


def mail_readers(code: str) -> list[User]:
    """Who may be mailed a report: a person with an address whose role opens it."""
    people = User.objects.filter(is_active=True).exclude(email="").prefetch_related("roles").order_by("username")
    return [person for person in people if report_opens(person, code)]
