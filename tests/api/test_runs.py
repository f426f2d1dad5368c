"""Any background run: for the desk, and for whoever asked."""

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


@pytest.fixture
def asker():
    return build.UserFactory(roles=["finance"])


@pytest.mark.parametrize(
    ("make", "kind"), [(build.PlanRunFactory, "plan"), (build.SurveyImportFactory, "survey_import")]
)
def test_it_tells_how_far_it_is(desk, make, kind):
    run = make(state="running", attempt=1, progress_done=30, progress_total=200, progress_note="Improving")
    told = desk.get(f"/api/runs/{run.public_id}").json()
    assert (told["kind"], told["progress_done"], told["progress_total"]) == (kind, 30, 200)


def test_it_is_told_to_who_asked_and_to_the_desk_alone(asker, desk, finance):
    run = build.PlanRunFactory(asked_by=asker)
    seen = [caller.get(f"/api/runs/{run.public_id}").status_code for caller in (Caller(asker), desk, finance)]
    assert seen == [200, 200, 404]
