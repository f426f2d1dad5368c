"""Changing the words of this stage: jurisdictions, growth forms, questions of the checklist. A code stays for good:
files, labels and rate books name it. `read` is the mark of the row as it was read (row_mark)."""

from orders.common.errors import Refusal
from orders.common.rows import unversioned_edit, unversioned_remove
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.common.use import needed_refuse
from orders.sites.models import ChecklistAnswer, ChecklistQuestion, GrowthForm, Jurisdiction


class QuestionAnswered(Refusal):
    """A question of the checklist that was answered for a site stays: orders were issued on its answers."""

    code = "question_answered"
    title = "The question has answers"


@writing()
def jurisdiction_edit(
    *, jurisdiction: Jurisdiction, name: str, is_active: bool | None = None, read: str | None, stamp: Stamp
) -> Jurisdiction:
    if is_active is False:
        _sites_refuse(jurisdiction)
    values = {"name": name} | ({} if is_active is None else {"is_active": is_active})
    return unversioned_edit(jurisdiction, stamp=stamp, verb="jurisdiction_edit", read=read, values=values)


@writing()
def jurisdiction_deactivate(*, jurisdiction: Jurisdiction, read: str | None, stamp: Stamp) -> Jurisdiction:
    """Offer it for nothing new. Licenses, labels and rules on records that name it stay."""
    _sites_refuse(jurisdiction)
    values = {"is_active": False}
    return unversioned_edit(jurisdiction, stamp=stamp, verb="jurisdiction_deactivate", read=read, values=values)


@writing()
def jurisdiction_activate(*, jurisdiction: Jurisdiction, read: str | None, stamp: Stamp) -> Jurisdiction:
    values = {"is_active": True}
    return unversioned_edit(jurisdiction, stamp=stamp, verb="jurisdiction_activate", read=read, values=values)


def _sites_refuse(jurisdiction: Jurisdiction) -> None:
    named = jurisdiction.sites.order_by("name").values_list("name", flat=True)
    needed_refuse(f"{jurisdiction.name} stays in use: sites lie in it.", "sites", named)


@writing()
def growth_form_edit(*, growth_form: GrowthForm, name: str, read: str | None, stamp: Stamp) -> GrowthForm:
    """What it is called. Which forms there are, and whether they fruit, the estimates rest on."""
    return unversioned_edit(growth_form, stamp=stamp, verb="growth_form_edit", read=read, values={"name": name})


@writing()
def checklist_question_edit(
    *,
    question: ChecklistQuestion,
    text: str,
    sort: int,
    is_active: bool | None = None,
    read: str | None,
    stamp: Stamp,
) -> ChecklistQuestion:
    """Say it better, or ask it earlier or later, or no more. Answers stay with it: what asks something else is a new
    question."""
    values = {"question": text, "sort": sort} | ({} if is_active is None else {"is_active": is_active})
    return unversioned_edit(question, stamp=stamp, verb="checklist_question_edit", read=read, values=values)


@writing()
def checklist_question_deactivate(*, question: ChecklistQuestion, read: str | None, stamp: Stamp) -> ChecklistQuestion:
    """Ask it nowhere any more; its answers stay on record."""
    values = {"is_active": False}
    return unversioned_edit(question, stamp=stamp, verb="checklist_question_deactivate", read=read, values=values)


@writing()
def checklist_question_activate(*, question: ChecklistQuestion, read: str | None, stamp: Stamp) -> ChecklistQuestion:
    """Ask it again; answers of before count as long as they hold."""
    values = {"is_active": True}
    return unversioned_edit(question, stamp=stamp, verb="checklist_question_activate", read=read, values=values)


@writing()
def checklist_question_remove(*, question: ChecklistQuestion, read: str | None, stamp: Stamp) -> None:
    """Take out a question that was never answered."""
    if ChecklistAnswer.objects.filter(question=question).exists():
        raise QuestionAnswered("It was answered for a site, and orders rest on that: reword it or take it out of use.")
    unversioned_remove(question, stamp=stamp, verb="checklist_question_remove", read=read)
