"""Each role has its guide; Help leads from a page to the part about it; the pictures are there and small."""

import json
import re
from datetime import date

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.urls import get_resolver, reverse
from PIL import Image

from orders.desk.guide.guides import GUIDES, PARTS, help_address
from orders.desk.guide.opening import opens_to, roles_said
from orders.desk.guide.pictures import MANIFEST, pictures_taken
from orders.desk.guide.words import KEYS, WORDS
from orders.desk.navigation import ENTRIES, EVERY_ROLE
from tests import build

pytestmark = pytest.mark.django_db
FOLDER = settings.BASE_DIR / "orders/desk/static/desk/guide"
PICTURES = [picture for guide in GUIDES for picture in guide.pictures]
STEPS = [(guide, step) for guide in GUIDES for step in guide.steps]
MOST_BYTES, MOST_BYTES_OF_ALL = 60_000, 1_500_000


@pytest.fixture
def season(db):
    return build.SeasonFactory(name="Spring 2027", first_day=date(2027, 1, 4), last_day=date(2027, 6, 30))


def by_code(guide):
    return guide.code


def test_it_has_a_guide_for_each_role():
    assert {guide.role for guide in GUIDES} == EVERY_ROLE


@pytest.mark.parametrize("guide", GUIDES, ids=by_code)
def test_it_leads_only_to_pages_that_open_for_the_role(client, guide, season):
    client.force_login(build.UserFactory(roles=[guide.role]))
    shown = client.get(reverse("help-guide", args=[guide.code]))
    ways = [way.address for told in shown.context["steps"] for way in told.ways]
    assert {address: client.get(address, follow=True).status_code for address in ways} == dict.fromkeys(ways, 200)
    assert all(ways)


@pytest.mark.parametrize("guide", GUIDES, ids=by_code)
def test_it_shows_every_step_with_its_picture(client, guide, season):
    client.force_login(build.UserFactory(roles=[guide.role]))
    shown = client.get(reverse("help-guide", args=[guide.code])).content.decode()
    assert re.findall(r'<li class="sheet" id="([a-z-]+)">', shown) == [step.code for step in guide.steps]
    assert re.findall(r'<img src="[^"]*desk/guide/([a-z-]+)\.webp"', shown) == [it.name for it in guide.pictures]
    assert "another role" not in shown


def test_it_says_what_waits_for_a_season(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert "Plans: once there is a season" in client.get("/help/coordinator/").content.decode()


def test_it_says_that_a_guide_is_for_another_role(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    assert "This is the work of another role" in client.get("/help/crew-lead/").content.decode()


@pytest.mark.parametrize("role", sorted(EVERY_ROLE))
def test_it_links_what_opens_to_the_reader_and_says_of_the_rest_to_whom(client, season, role):
    client.force_login(build.UserFactory(roles=[role]))
    opened: dict[str, int] = {}
    for guide in GUIDES:
        shown = client.get(reverse("help-guide", args=[guide.code])).context["steps"]
        for link, way in ((link, way) for told in shown for link, way in zip(told.step.links, told.ways, strict=True)):
            told_to = "" if role in opens_to(link) else roles_said(opens_to(link))
            address = reverse(link.name, args=[season.public_id] if link.of_season else [])
            if address not in opened:
                opened[address] = client.get(address, follow=True).status_code
            assert (way.only_for, way.address) == (told_to, "" if told_to else address)
            assert (opened[address] == 200) == bool(way.address), (guide.code, link.name)


def test_it_says_that_a_page_of_another_guide_opens_to_others(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    shown = client.get("/help/finance/").content.decode()
    assert "opens to administrator or finance" in shown
    assert f'href="{reverse("payroll")}"' not in shown


def test_it_knows_no_other_guide(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    assert client.get("/help/gardener/").status_code == 404


def test_it_asks_for_a_login(client):
    assert client.get("/help/").status_code == 302


def test_it_tells_words_keys_and_support(client):
    client.force_login(build.UserFactory(roles=["crew_lead"]))
    shown = client.get("/help/")
    assert (shown.context["words"], shown.context["places"]) == (WORDS, KEYS)
    assert shown.content.decode().count("yours</span>") == 1
    assert 'id="support"' in shown.content.decode()


def test_it_keeps_the_words_in_order():
    assert [row.word for row in WORDS] == sorted((row.word for row in WORDS), key=str.lower)


def _help(client, address):
    shown = client.get(address)
    return re.findall(r'<a href="([^"]+)">Help</a>', shown.content.decode())[0]


@pytest.mark.parametrize(
    ("role", "address", "part"),
    [
        ("coordinator", "/map/", "coordinator/#map"),
        ("coordinator", "/orders/", "coordinator/#issue"),
        ("crew_lead", "/orders/", "crew-lead/#day"),
        ("finance", "/money/payroll/", "finance/#payroll"),
        ("pesticide_supervisor", "/records/owed/", "pesticide-supervisor/#owed"),
        ("administrator", "/tablets/", "administrator/#tablets"),
        ("crew_lead", "/no-such-page/", "crew-lead/"),
        ("finance", "/help/", "finance/"),
    ],
)
def test_help_leads_to_the_part_that_is_about_the_page(client, role, address, part):
    client.force_login(build.UserFactory(roles=[role]))
    assert _help(client, address) == f"/help/{part}"


def test_help_leads_to_the_guide_that_knows_the_page_for_whoever_has_two_roles(client):
    client.force_login(build.UserFactory(roles=["coordinator", "finance"]))
    assert _help(client, "/money/payroll/") == "/help/finance/#payroll"


def test_help_of_a_page_that_no_guide_names_is_that_of_the_page_above_it():
    coordinator = build.UserFactory(roles=["coordinator"])
    assert help_address(coordinator, "mystery", "/rate-books/1/mystery/") == "/help/coordinator/#learn"


def test_help_is_the_list_of_guides_for_whoever_has_no_role():
    assert help_address(build.UserFactory(), "signpost", "/") == "/help/"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_some_guide_tells_of_each_page_of_the_head(entry):
    told = {guide.role for guide in GUIDES if entry.name in PARTS[guide.code]}
    assert told & entry.roles


def test_it_names_only_addresses_that_there_are():
    named = {name for _, step in STEPS for name in step.names()}
    assert named - set(get_resolver().reverse_dict) == set()


def test_codes_of_steps_are_their_own():
    for guide in GUIDES:
        codes = [step.code for step in guide.steps]
        assert len(codes) == len(set(codes)), guide.code
        assert 6 <= len(codes) <= 12, guide.code


def test_it_asks_the_same_of_the_database_however_many_steps(client, season, django_assert_max_num_queries):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    for _ in range(20):
        build.SeasonFactory()
    with django_assert_max_num_queries(12):
        client.get("/help/coordinator/")


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)
def test_each_picture_is_there_and_small(picture):
    path = FOLDER / f"{picture.name}.webp"
    taken = pictures_taken()[picture.name]
    assert finders.find(taken.file) == str(path)
    assert path.stat().st_size <= MOST_BYTES
    with Image.open(path) as image:
        assert (image.format, image.size) == ("WEBP", (taken.width, taken.height))


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)
def test_each_picture_was_taken_as_the_guide_has_it_now(picture):
    kept = json.loads(MANIFEST.read_text(encoding="utf-8"))[picture.name]
    told = (picture.place.address, list(picture.place.follow), [f"{it.kind} {it.words}" for it in picture.marks])
    assert (kept["address"], kept["follow"], kept["marks"]) == told, "python -m tests.guide takes it anew"


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)
def test_each_picture_is_told_in_words(picture):
    assert 30 <= len(picture.alt) <= 160
    assert all(mark.says.endswith(".") for mark in picture.marks)


def test_no_picture_is_left_over_and_none_is_there_twice():
    names = [picture.name for picture in PICTURES]
    assert sorted(names) == sorted(path.stem for path in FOLDER.glob("*.webp"))
    assert sorted(names) == sorted(pictures_taken())
    assert sum(path.stat().st_size for path in FOLDER.glob("*.webp")) <= MOST_BYTES_OF_ALL
