"""Choosing and putting back from the terminal."""

import re
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command

from orders.estimates.models import Method
from orders.planning.models import Prescription
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def ground():
    return ground_build()


def _work(*words):
    said = StringIO()
    call_command("work", "--as", "coordinator", *words, stdout=said)
    return said.getvalue()


def test_it_previews_and_changes_nothing(ground):
    said = _work("choose", "2027", "--preview")
    assert "3 chosen, 0 chosen already, 0 refused" in said
    assert "paid person-hours of" in said
    assert not Prescription.objects.exists()


def test_it_chooses_and_puts_back(ground):
    said = _work("choose", "2027", "--recommended", "dormant-foliar")
    (batch,) = re.findall(r"choice (\S+) is made", said)
    assert [row.patch.code for row in Prescription.objects.all()] == ["H-02", "H-03"]
    assert "is undone" in _work("undo", batch)
    assert set(Prescription.objects.values_list("state", flat=True)) == {"dropped"}


def test_it_asks_for_the_reason(ground):
    words = ("choose", "2027", "--method", "spot-foliar", "--text", "h-02")
    with pytest.raises(CommandError, match="Say why"):
        _work(*words)
    assert "1 chosen" in _work(*words, "--because", "A class works there.")


def test_it_knows_no_such_choice(ground):
    with pytest.raises(CommandError, match="cannot be read"):
        _work("undo", "7")


def test_it_tells_what_could_not_be_priced(ground):
    Method.objects.filter(code="spot-foliar").update(default_mix=None)
    assert "spray uses herbicide and has no mix: 3 estimates were not made." in _work("estimate")
