"""Taking an import back: its surveys are voided with the reason, never deleted."""

from datetime import timedelta

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.sites.models import Patch, Survey, SurveyImport
from orders.sites.selectors import surveys_current
from orders.sites.services import survey_import_undo, survey_void
from tests import build
from tests.sites.imports.handed import OTHER_PLACE, bring, features, row

pytestmark = pytest.mark.django_db
LATER = build.NOW + timedelta(days=1)
TWO_PATCHES = features(row(), row(patch_code="P2", geometry=OTHER_PLACE))


def undo(imported, reason="wrong county", by=None):
    return survey_import_undo(imported=imported, stamp=build.stamp(by=by, at=LATER, reason=reason))


def prescribed(survey, state="open"):
    return build.PrescriptionFactory(estimate=build.EstimateFactory(survey=survey), patch=survey.patch, state=state)


def test_it_voids_the_surveys_with_the_reason(mill):
    undone = undo(bring(TWO_PATCHES))
    assert undone.surveys_voided == 2
    assert set(Survey.objects.values_list("voided_at", "void_reason")) == {(LATER, "wrong county")}
    assert SurveyImport.objects.get().undone_at == LATER
    assert not surveys_current().exists()


def test_it_keeps_the_patches_and_tells_those_without_a_survey(mill):
    bring()
    imported = bring(features(row(observed_on="2026-06-01"), row(patch_code="P2", geometry=OTHER_PLACE)))
    undone = undo(imported)
    assert [patch.code for patch in undone.patches_bare] == ["P2"]
    assert Patch.objects.count() == 2
    assert str(surveys_current().get().observed_on) == "2026-05-01"


def test_it_leaves_other_imports_alone(mill):
    first = bring()
    undo(bring(TWO_PATCHES))
    assert Survey.objects.get(voided_at__isnull=True).source == first


def test_it_records_who_took_what_back(mill, user):
    imported = bring()
    undo(imported, by=user)
    import_change, survey_change = Change.objects.filter(at=LATER).order_by("-id")[:2]
    assert (import_change.verb, import_change.actor, import_change.reason) == (
        "survey_import_undo",
        user,
        "wrong county",
    )
    assert import_change.after == {"surveys_voided": 1, "patches_bare": ["MILL P1"]}
    assert (survey_change.verb, survey_change.entity_id) == ("survey_void", Survey.objects.get().public_id)


def test_it_lets_the_rows_come_in_again(mill):
    undo(bring())
    again = bring()
    assert (again.rows_added, again.patches_added) == (1, 0)


def test_it_refuses_while_prescriptions_use_the_estimates(mill):
    imported = bring(TWO_PATCHES)
    prescribed(Survey.objects.get(patch__code="P2"))
    with pytest.raises(WrongState, match=r"2 surveys would be voided, but 1 of them carry estimates") as refusal:
        undo(imported)
    assert refusal.value.data == {"held": {"carry estimates that prescriptions use": 1}}
    assert not Survey.objects.filter(voided_at__isnull=False).exists()
    assert SurveyImport.objects.get().undone_at is None


def test_it_goes_on_where_the_prescription_was_dropped(mill):
    imported = bring()
    prescribed(Survey.objects.get(), state="dropped")
    assert undo(imported).surveys_voided == 1


def test_it_goes_on_where_an_estimate_was_only_looked_at(mill):
    imported = bring()
    build.EstimateFactory(survey=Survey.objects.get())
    assert undo(imported).surveys_voided == 1


def test_it_undoes_once(mill):
    imported = bring()
    undo(imported)
    with pytest.raises(WrongState):
        undo(imported)


@pytest.mark.parametrize("asked", [{"dry_run": True}, {"data": features(row(cover_percent=101))}])
def test_it_has_nothing_to_undo_where_nothing_was_added(mill, asked):
    imported = bring(**asked)
    with pytest.raises(WrongState):
        undo(imported)
    assert SurveyImport.objects.get().undone_at is None


@pytest.mark.parametrize("reason", ["", "  ", "x" * 201, "no\0pe"])
def test_it_wants_a_reason_that_can_be_kept(mill, reason):
    imported = bring()
    with pytest.raises(Invalid) as refusal:
        undo(imported, reason=reason)
    assert [error.field for error in refusal.value.errors] == ["reason"]
    assert Survey.objects.get().voided_at is None


def test_it_voids_one_survey(mill):
    bring(TWO_PATCHES)
    survey = survey_void(
        survey=Survey.objects.get(patch__code="P1"), stamp=build.stamp(at=LATER, reason="taken by night")
    )
    assert (survey.voided_at, survey.void_reason) == (LATER, "taken by night")
    assert Survey.objects.filter(voided_at__isnull=True).count() == 1
    assert Change.objects.get(verb="survey_void").reason == "taken by night"


def test_it_voids_a_survey_once(mill):
    bring()
    survey_void(survey=Survey.objects.get(), stamp=build.stamp(reason="taken by night"))
    with pytest.raises(WrongState, match="void already"):
        survey_void(survey=Survey.objects.get(), stamp=build.stamp(reason="again"))


def test_it_does_not_void_a_survey_that_a_prescription_needs(mill):
    bring()
    prescribed(Survey.objects.get(), state="done")
    with pytest.raises(WrongState):
        survey_void(survey=Survey.objects.get(), stamp=build.stamp(reason="taken by night"))
    assert Survey.objects.get().voided_at is None


def test_it_counts_only_what_it_voided_itself(mill):
    imported = bring(TWO_PATCHES)
    survey_void(survey=Survey.objects.get(patch__code="P1"), stamp=build.stamp(reason="taken by night"))
    assert undo(imported).surveys_voided == 1
    assert Survey.objects.get(patch__code="P1").void_reason == "taken by night"
