"""The season from the terminal: planning, comparing, moving, asking why."""

import re
import sys
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command

from orders.desk.steps import STEPS
from orders.planning.models import PlanRun, Visit
from orders.workorders.models import WorkOrder
from tests import build
from tests.flow.world import BEGIN, prescribed, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def world():
    world = world_build()
    prescribed(world)
    return world


def _work(*words):
    said = StringIO()
    call_command("work", "--as", "coordinator", *words, stdout=said)
    return said.getvalue()


def _run(said):
    (found,) = re.findall(r"^run (\S+): done", said, re.MULTILINE)
    return found


def test_it_plans_and_tells_what_it_comes_to(world):
    said = _work("plan", "2027", "--rounds", "5", "--seed", "3")
    run = PlanRun.objects.get()
    assert (run.iterations, run.seed, run.purpose) == (5, 3, "plan")
    assert _run(said) == str(run.public_id)
    assert re.search(r"^plan +acres +deadlines +cost \$ +hours +visits +left out$", said, re.MULTILINE)
    assert "lost: $" in said


def test_it_says_why_each_visit_of_an_order_is_on_its_day(world):
    _work("accept", _run(_work("plan", "2027")))
    order, visit = WorkOrder.objects.get(), Visit.objects.get()
    said = _work("why", str(order.number))
    assert f"{visit.day} Hollow crew: H-01" in said
    assert visit.because
    assert all(sentence in said for sentence in visit.because)


def test_it_knows_no_such_order(world):
    with pytest.raises(CommandError, match="no work order 7"):
        _work("why", "7")


def test_it_plans_again_and_drops(world):
    _work("accept", _run(_work("plan", "2027")))
    run = _run(_work("again", "2027", "--rounds", "5"))
    assert PlanRun.objects.get(public_id=run).purpose == "replan"
    assert f"run {run} is dropped" in _work("drop", run)
    with pytest.raises(CommandError):
        _work("accept", run)


def test_it_compares_what_ifs(world):
    runs = [_run(_work("plan", "2027")), _run(_work("whatif", "2027", "--crews", "1", "--budget", "90"))]
    heading, _, *rows = _work("compare", *runs).splitlines()
    assert heading.split()[0] == "plan"
    assert len(rows) == 2
    assert "1 more crew" in rows[1]
    with pytest.raises(CommandError):
        _work("accept", runs[1])


def test_it_refuses_a_what_if_that_changes_nothing(world):
    with pytest.raises(CommandError, match="nothing differs"):
        _work("whatif", "2027")


def test_it_tells_what_is_left_out_and_what_would_help():
    left = {"patch": "KF H-01", "method": "Cutting", "hours": 12.5, "because": "No crew is free in the window."}
    left |= {"prescription": "", "constraint": "window", "would_help": "One more day of Hollow crew."}
    run = build.PlanRunFactory(state="done", left_out=[{**left, "change": "crew day", "change_cents": 64_000}])
    build.UserFactory(username="coordinator", roles=["coordinator"])
    first, last = _work("leftout", str(run.public_id)).splitlines()
    assert first == (
        "left out: KF H-01, Cutting, 12.5 h: No crew is free in the window. "
        "Would help: One more day of Hollow crew. ($640)"
    )
    assert last == "1 left out"


def test_it_names_an_id_that_cannot_be_read(world):
    with pytest.raises(CommandError, match="run: '7' is no id"):
        _work("leftout", "7")


def test_it_previews_a_move_then_makes_it(world):
    _work("accept", _run(_work("plan", "2027")))
    visit = Visit.objects.get()
    words = ("move", str(visit.public_id), "--day", "2027-02-07")  # a Sunday
    assert "breaks: day off" in _work(*words, "--preview")
    assert Visit.objects.get().day == visit.day
    with pytest.raises(CommandError):
        _work(*words)
    said = _work(*words, "--because", "A volunteers' day.", "--keep")
    assert "2027-02-07, kept there" in said
    assert Visit.objects.get().is_kept


def test_it_names_a_day_that_cannot_be_read(world):
    _work("accept", _run(_work("plan", "2027")))
    with pytest.raises(CommandError, match="is no day such as"):
        _work("move", str(Visit.objects.get().public_id), "--day", "tomorrow")


def test_it_tells_the_windows_of_what_is_chosen(world):
    chosen = _work("windows", "2027", "--site", world.patch.site.code)
    assert re.search(r"H-01 hand-pull: 2027-\d\d-\d\d to 2027-\d\d-\d\d, \d+ days\. Opens: ", chosen)
    assert "dormant-foliar" in _work("windows", "2027", "--method", "dormant-foliar")
    assert _work("windows", "2027", "--site", "NOWHERE") == ""
    with pytest.raises(CommandError, match="no method wishing"):
        _work("windows", "2027", "--method", "wishing")


def test_it_tells_load_and_cost_by_week(world):
    run = _run(_work("plan", "2027"))
    heading, _, *weeks = _work("load", "2027", "--run", run).splitlines()
    assert heading.split() == ["week", "of", "Hollow", "crew"]
    assert len(weeks) == 50
    assert any(not week.split()[1].startswith("0") for week in weeks)
    assert all(week.split()[1] == "0" for week in _work("load", "2027").splitlines()[2:])
    last = _work("course", "2027", "--run", run).splitlines()[-1].split()
    low, likely, high = (int(text.replace(",", "")) for text in last[1:])
    assert 0 < low < likely < high


class HungUp(StringIO):
    def write(self, text):
        raise BrokenPipeError


def test_it_takes_the_step_to_its_end_for_a_reader_that_hangs_up(world, monkeypatch):
    taken = []

    def step(stamp, options):
        yield "first"
        taken.append(options["season"])
        yield "last"

    monkeypatch.setitem(STEPS, "load", step)
    monkeypatch.setattr(sys, "stdout", sys.stdout)  # put back afterwards
    call_command("work", "--as", "coordinator", "load", "2027", stdout=HungUp())
    assert taken == ["2027"]
