"""Adding and editing rows of master data: checks, versions, records."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.common.rows import Findings, row_add, row_edit
from orders.sites.models import Jurisdiction, Patch
from tests import build

pytestmark = pytest.mark.django_db


def test_it_records_who_added_what(stamp):
    row = row_add(Jurisdiction(code="OH", name="Ohio"), stamp=stamp, verb="jurisdiction_add")
    change = Change.objects.get(entity_id=row.public_id)
    assert (change.verb, change.actor, change.at) == ("jurisdiction_add", stamp.by, stamp.at)
    assert change.after == {"code": "OH", "name": "Ohio", "is_active": True}


def test_it_names_every_field_that_is_wrong_and_adds_nothing(stamp):
    with pytest.raises(Invalid) as refusal:
        row_add(Jurisdiction(code="", name="x" * 81), stamp=stamp, verb="jurisdiction_add")
    assert {error.field for error in refusal.value.errors} == {"code", "name"}
    assert not Jurisdiction.objects.exists()
    assert not Change.objects.exists()


def test_it_refuses_a_code_that_is_taken(stamp):
    build.JurisdictionFactory(code="OH")
    with pytest.raises(Invalid) as refusal:
        row_add(Jurisdiction(code="OH", name="Ohio"), stamp=stamp, verb="jurisdiction_add")
    assert refusal.value.errors[0].field == "code"


def test_it_says_a_thing_about_a_field_once(stamp):
    found = Findings()
    found.need(False, "code", "Must be two letters.")
    with pytest.raises(Invalid) as refusal:
        row_add(Jurisdiction(code="", name="Ohio"), stamp=stamp, verb="jurisdiction_add", findings=found)
    assert [error.message for error in refusal.value.errors] == ["Must be two letters."]


def test_it_edits_counts_the_version_and_records_both_sides(stamp):
    patch = build.PatchFactory(name="Old orchard")
    row_edit(patch, stamp=stamp, verb="patch_edit", expected=1, values={"name": "New orchard"})
    change = Change.objects.get(verb="patch_edit")
    assert (change.before, change.after) == ({"name": "Old orchard"}, {"name": "New orchard"})
    assert (patch.version, change.entity_version) == (2, 2)
    assert Patch.objects.get().name == "New orchard"


def test_it_refuses_an_edit_of_a_version_that_has_gone(stamp):
    patch = build.PatchFactory(version=3)
    with pytest.raises(VersionMismatch):
        row_edit(patch, stamp=stamp, verb="patch_edit", expected=2, values={"name": "New orchard"})
    assert Patch.objects.get().name == ""


def test_it_records_nothing_where_nothing_changes(stamp):
    patch = build.PatchFactory(name="Old orchard")
    row_edit(patch, stamp=stamp, verb="patch_edit", expected=1, values={"name": "Old orchard"})
    assert (patch.version, Change.objects.count()) == (1, 0)
