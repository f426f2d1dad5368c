"""Every list: sorted, narrowed and turned by its address, and as a file with the rows that it shows."""

import csv
import io
import re
from itertools import pairwise

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.html import escape

from tests import build
from tests.desk.pages.lists import LISTS, READER, the_season
from tests.flow.world import BEGIN

pytestmark = pytest.mark.django_db
ALONE = [address for address, one in LISTS.items() if one.sort and not one.prefix]
SORTED = [address for address, one in LISTS.items() if one.sort]
NARROWED = [address for address, one in LISTS.items() if one.narrowed]
TURNED = [address for address, one in LISTS.items() if one.has_pages]
ASKING_ONCE = [address for address, one in LISTS.items() if not one.asks_by_row]
REFUSING = [address for address, one in LISTS.items() if one.refuses]


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def reader(client):
    """Reads an address as whoever the list is for, once it has `rows` rows."""

    def read(address, rows=3):
        one = LISTS[address]
        client.force_login(build.UserFactory(username=READER, roles=[one.role]))
        for number in range(rows):
            one.make(number)
        return client

    return read


def at(address, query=""):
    """The page itself: the season is known once there is one."""
    page = address.partition("#")[0]
    if "{season}" in page:
        page = page.format(season=the_season().public_id)
    return f"{page}?{query}" if query else page


def names(table):
    """The row headings, in order, but those of sums."""
    found = re.findall(r'<th scope="row"[^>]*>(.*?)</th>', table.partition("<tfoot")[0], re.S)
    return [" ".join(re.sub(r"<[^>]*>", " ", text).split()) for text in found]


def sorts(page, prefix):
    """What its headings sort by, as their addresses say it, whichever way, with their words."""
    heads = re.findall(rf'<a href="[^"?]*\?(?:[^"]*&amp;)?{prefix}sort=-?(\w+)[^"]*">([^<]*)</a></th>', page)
    return dict(heads)


def own_table(client, address, query=""):
    """The list's own table among those of its page, and what comes after it. Where no order is in the address, only
    its own headings name it."""
    one = re.compile(r"(<table[^>]*>).*?</table>", re.S)
    plain = list(one.finditer(client.get(at(address)).content.decode()))
    own = next((table for table in plain if sorts(table[0], LISTS[address].prefix)), None)
    if own is None:
        return "", ""
    place = [table for table in plain if table[1] == own[1]].index(own)
    page = client.get(at(address, query)).content.decode()
    found = [table for table in one.finditer(page) if table[1] == own[1]][place]
    return found[0], page[found.end() :]


def lines(client, address, query=""):
    reply = client.get(f"{at(address)}{LISTS[address].file}&{query}")
    assert reply.status_code == 200
    assert reply["Content-Type"].startswith("text/csv")
    assert "attachment" in reply["Content-Disposition"]
    return list(csv.reader(io.StringIO(reply.content.decode(), newline="")))


@pytest.mark.parametrize("address", LISTS)
def test_what_it_cannot_be_sorted_by_does_no_harm(reader, address):
    status = 400 if LISTS[address].refuses == "sort=odd" else 200
    assert reader(address).get(at(address, f"{LISTS[address].prefix}sort=odd")).status_code == status


@pytest.mark.parametrize("address", LISTS)
def test_a_page_that_there_is_not_shows_one_that_there_is(reader, address):
    assert names(own_table(reader(address), address, f"{LISTS[address].prefix}page=99")[0]) != []


@pytest.mark.parametrize("address", REFUSING)
def test_a_filter_that_it_does_not_have_is_refused(reader, address):
    assert reader(address).get(at(address, LISTS[address].refuses)).status_code == 400


@pytest.mark.parametrize("address", SORTED)
def test_sorting_turns_the_order_of_its_file(reader, address):
    client, one = reader(address), LISTS[address]
    up, down = (lines(client, address, f"{one.prefix}sort={turn}{one.sort}")[1:] for turn in ("", "-"))
    assert sorted(up) == sorted(down)
    assert up == down[::-1] != down


@pytest.mark.parametrize("address", ALONE)
def test_sorting_turns_the_order_of_its_page(reader, address):
    client, one = reader(address), LISTS[address]
    up, down = (names(own_table(client, address, f"sort={turn}{one.sort}")[0]) for turn in ("", "-"))
    assert sorted(up) == sorted(down)
    assert up == down[::-1] != []


def in_order(cells):
    """As numbers, or as text with or without its numbers read as such; what is not told is last."""
    known = [cell for cell in cells if cell]
    if cells[len(known) :] != [""] * (len(cells) - len(known)):
        return False
    digits = re.compile(r"(\d+)")
    keys = (
        lambda cell: [int(part) if at % 2 else part for at, part in enumerate(digits.split(cell.casefold()))],
        str.casefold,
        float,
    )
    return any(_rises(known, key) for key in keys)


def _rises(cells, key):
    try:
        return all(key(one) <= key(next_one) for one, next_one in pairwise(cells))
    except ValueError:
        return False


@pytest.mark.parametrize("address", LISTS)
def test_each_of_its_headings_sorts_both_ways(reader, address):
    client, prefix = reader(address), LISTS[address].prefix
    heads = sorts(client.get(at(address)).content.decode(), prefix)
    assert len(heads) >= 1
    all_rows = sorted(lines(client, address)[1:])
    for name, words in heads.items():
        for turn, way in (("", "ascending"), ("-", "descending")):
            query = f"{prefix}sort={turn}{name}"
            page = client.get(at(address, query))
            assert page.status_code == 200
            marked = re.findall(rf'aria-sort="{way}"><a href="[^"]*">([^<]*)</a>', page.content.decode())
            assert words in marked, query
            heading, *rows = lines(client, address, query)
            assert sorted(rows) == all_rows
            if words in heading:
                cells = [row[heading.index(words)] for row in rows]
                assert in_order(cells) if not turn else in_order([*[one for one in cells if one][::-1]]), query


@pytest.mark.parametrize("address", TURNED)
def test_another_page_keeps_what_the_address_asks_for(reader, address):
    one = LISTS[address]
    query = f"{one.prefix}sort={one.sort}&" if one.sort else ""
    page = reader(address, LISTS[address].many).get(at(address, f"{query}{one.prefix}page=1")).content.decode()
    assert escape(f"?{query}{one.prefix}page=2") in page
    file = one.file.removeprefix("?")
    kept = f"?{query}{one.prefix}page=1"
    assert escape(f"{kept}&{file}") in page or escape(f"csv{kept}") in page


@pytest.mark.parametrize("address", TURNED)
def test_its_file_has_the_rows_of_all_its_pages(reader, address):
    client = reader(address, LISTS[address].many)
    shown, number, has_more = [], 0, True
    while has_more:
        number += 1
        rows, has_more = rows_of(client, address, number)
        shown += rows
    assert number > 1
    assert len(shown) == len(lines(client, address)[1:])


def rows_of(client, address, number):
    """The rows of the list's own table on this page, and whether there are later ones."""
    table, after = own_table(client, address, f"{LISTS[address].prefix}page={number}")
    return names(table), "Later rows" in after.partition("</section>")[0]


@pytest.mark.parametrize("address", LISTS)
def test_its_file_has_all_rows_whatever_page_is_shown(reader, address):
    client = reader(address, 0)
    there = len(lines(client, address))
    for number in range(LISTS[address].many):
        LISTS[address].make(number)
    assert len(lines(client, address, f"{LISTS[address].prefix}page=2")) == there + LISTS[address].many


@pytest.mark.parametrize("address", NARROWED)
def test_its_file_is_narrowed_as_the_page_is(reader, address):
    client, query = reader(address), LISTS[address].narrowed
    assert len(lines(client, address)) == 1 + 3
    assert names(client.get(at(address, query)).content.decode()) == []
    assert len(lines(client, address, query)) == 1


@pytest.mark.parametrize("address", ASKING_ONCE)
def test_its_file_asks_as_often_for_many_rows_as_for_few(reader, address):
    client, make = reader(address), LISTS[address].make
    lines(client, address)
    counted = []
    for number in range(3, 13):
        with CaptureQueriesContext(connection) as found:
            lines(client, address)
        counted.append(len(found))
        make(number)
    assert counted[-1] == counted[0]


def test_trips_are_a_file_of_their_own(reader):
    client = reader("/money/equipment/", 2)
    build.TripFactory(miles_tenths=412)
    [heading, row] = csv.reader(io.StringIO(client.get("/money/equipment/?file=trips").content.decode(), newline=""))
    assert row[heading.index("Miles")] == "41.2"


@pytest.mark.parametrize("address", LISTS)
def test_its_file_is_for_whom_the_page_is_for(client, address):
    client.force_login(build.UserFactory(roles=[]))
    page, file = client.get(at(address)), client.get(f"{at(address)}{LISTS[address].file}")
    assert page.status_code == file.status_code == 403


def test_text_that_a_spreadsheet_would_run_is_guarded(reader):
    client = reader("/tablets/", 0)
    build.DeviceFactory(name="=1+1")
    assert lines(client, "/tablets/")[1][0] == "'=1+1"


def test_a_sum_below_nothing_stays_a_number(reader):
    client = reader("/money/held/", 0)
    build.HeldChargeFactory(amount_cents=-1250)
    [heading, row] = lines(client, "/money/held/")
    assert row[heading.index("Amount $")] == "-12.5"
