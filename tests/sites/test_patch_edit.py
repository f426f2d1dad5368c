import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.sites.models import Patch
from orders.sites.services import patch_edit
from tests import build

pytestmark = pytest.mark.django_db


def test_it_changes_what_is_given_and_leaves_the_rest(stamp):
    patch = build.PatchFactory(name="Old orchard", target_cover=0.05)
    patch_edit(stamp=stamp, patch=patch, expected=1, target_cover=0.02)
    kept = Patch.objects.get()
    assert (kept.name, kept.target_cover, kept.version) == ("Old orchard", 0.02, 2)


def test_it_lets_one_of_two_editors_through(stamp):
    mine, theirs = build.PatchFactory(), None
    theirs = Patch.objects.get()
    patch_edit(stamp=stamp, patch=theirs, expected=theirs.version, control_state="maintenance")
    with pytest.raises(VersionMismatch):
        patch_edit(stamp=stamp, patch=mine, expected=mine.version, control_state="eradicated")
    assert Patch.objects.get().control_state == "maintenance"


@pytest.mark.parametrize(
    ("field", "wrong"), [("target_cover", 1.2), ("target_cover", -0.1), ("control_state", "gone"), ("name", "x" * 121)]
)
def test_it_names_the_field_that_is_wrong_and_changes_nothing(stamp, field, wrong):
    patch = build.PatchFactory()
    with pytest.raises(Invalid) as refusal:
        patch_edit(stamp=stamp, patch=patch, expected=1, **{field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]
    assert Patch.objects.get().version == 1
