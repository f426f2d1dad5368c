"""What needs the reader, over the API."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


def test_it_tells_what_waits_and_leaves_out_what_does_not(desk):
    flag = build.FlagFactory(state="open", title="Sprayed in wind")
    (card,) = desk.get("/api/today").json()["waiting"]
    assert (card["code"], card["count"], card["words"]) == ("flags", 1, "1 flag is open")
    assert [line["id"] for line in card["first"]] == [str(flag.public_id)]


def test_it_reads_in_the_scope_of_the_role(lead):
    build.FlagFactory(state="open")
    assert lead.get("/api/today").json()["waiting"] == []


def test_it_refuses_a_season_that_is_none(desk):
    assert desk.get("/api/today?season=no").status_code == 400
