"""The reminder run is killed again and again over a season: every step is recorded once and sent, and no mail is
doubled more often than the run was killed."""

import subprocess
import sys
from collections import Counter
from email import message_from_bytes
from email.policy import default
from itertools import count

import pytest

from tests.kill.installation import ROOT, Installation

pytestmark = pytest.mark.kill

KILLED = -9
PEOPLE, PATCHES = 2, 3  # below the digest; with it, see the second case
STEPS = ["four-weeks", "two-weeks", "one-week", "two-days", "last-day", "overdue"]
SCENE = """
from tests import build
from tests.reminders.build import survey
for n in range({people}):
    build.UserFactory(username=f"coordinator{{n}}", roles=["coordinator"])
site = build.SiteFactory(time_zone="America/Chicago")
for n in range({patches}):
    survey(build.PatchFactory(site=site))
"""
NOTICES = """
SELECT COUNT(*), COUNT(DISTINCT message_id), SUM(CASE WHEN handed_over_at IS NULL THEN 1 ELSE 0 END),
COALESCE(SUM(mail_attempts - 1), 0) FROM reminders_notice
"""
DIGESTS = "SELECT COUNT(*), COALESCE(SUM(mail_attempts - 1), 0) FROM reminders_digest"
BY_STEP = """
SELECT COUNT(*) FROM (SELECT deadline_id, user_id FROM reminders_notice JOIN reminders_reminderstep
ON reminders_reminderstep.id = step_id WHERE code = '{}' GROUP BY deadline_id, user_id) AS told
"""


@pytest.fixture
def installation(tmp_path):
    made = Installation(tmp_path)
    try:
        made.manage("migrate", "--verbosity", "0")
        yield made
    finally:
        made.remove()


def season(installation, first_seed):
    """Start it again until it comes to its end; how often it was killed."""
    for killed in count():
        command = [
            sys.executable,
            "-m",
            "tests.reminders.killed_run",
            str(installation.folder),
            str(first_seed + killed),
        ]
        done = subprocess.run(command, cwd=ROOT, env=installation.environment, capture_output=True, check=False)
        if done.returncode == 0:
            return killed
        assert done.returncode == KILLED, done.stderr.decode()
    raise AssertionError


def mails(installation):
    """How often each Message-ID went out. A file may hold several mails of one connection; ours hold one."""
    found: Counter[str] = Counter()
    for path in sorted((installation.folder / "mail").iterdir()):
        for part in path.read_bytes().split(b"\n" + b"-" * 79 + b"\n"):
            if part.strip():
                found[message_from_bytes(part, policy=default)["Message-ID"]] += 1
    return found


@pytest.mark.parametrize(("patches", "seed"), [(3, 100), (8, 200)])
def test_it_records_every_step_once_and_sends_it_however_often_it_is_killed(installation, patches, seed):
    installation.python(SCENE.format(people=PEOPLE, patches=patches))
    killed = season(installation, seed)
    assert killed >= 5, "killed too seldom to prove anything"

    notices, ids, not_mailed, doubled = installation.row(NOTICES)
    assert notices == ids == len(STEPS) * PEOPLE * patches
    for step in STEPS:
        assert installation.row(BY_STEP.replace("{}", step)) == (PEOPLE * patches,)
    assert not_mailed == 0

    sent = mails(installation)
    digests, digests_doubled = installation.row(DIGESTS)
    assert digests == (len(STEPS) * PEOPLE if patches > 5 else 0)
    assert len(sent) == (digests or notices)
    doubles = sum(sent.values()) - len(sent)
    assert doubles <= killed
    assert doubles <= (digests_doubled if digests else doubled)  # the rows count every double that there may be
