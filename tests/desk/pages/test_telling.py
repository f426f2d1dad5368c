"""A run told in words: its errors are plain, and nothing that failed claims to have changed anything."""

import pytest

from orders.common.models.run import DONE, FAILED, QUEUED, RUNNING
from orders.desk.telling import run_state
from orders.planning.models import PlanRun
from orders.planning.services import PlanOutOfDate


def _told(**fields):
    return run_state(PlanRun(**fields))


@pytest.mark.parametrize(
    ("error", "said"),
    [
        ("NotFound: No rate book is in force.", "No rate book is in force. Nothing was changed."),
        (f"{PlanOutOfDate.__name__}: Ask for a new one", "Ask for a new one. Nothing was changed."),
        ("Gave up after 5 attempts. The worker's child ended with code -9.", "The work broke off 5 times"),
        ("KeyError: 'x'", "The program met something unforeseen."),
        ("", "The program met something unforeseen."),
    ],
)
def test_it_says_plainly_what_went_wrong(error, said):
    assert _told(state=FAILED, error=error).trouble.startswith(said)


def test_it_says_that_a_broken_attempt_starts_again():
    assert "starts again by itself" in _told(state=QUEUED, attempt=1, error="code -9").trouble
    assert _told(state=QUEUED).trouble == ""


@pytest.mark.parametrize(("done", "total", "percent"), [(0, 0, None), (0, 9, 0), (1, 3, 33), (9, 9, 100), (10, 9, 100)])
def test_it_counts_in_percent(done, total, percent):
    assert _told(state=RUNNING, progress_done=done, progress_total=total).percent == percent


def test_it_is_whole_when_it_is_done():
    told = _told(state=DONE, progress_done=1, progress_total=9, progress_note="Writing")
    assert (told.percent, told.note, told.may_cancel) == (100, "", False)
