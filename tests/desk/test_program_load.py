"""Loading the demo program: all of it, or nothing, with every complaint in its place."""

import json
import shutil

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from orders.common.errors import Invalid
from orders.common.models import Change, User
from orders.crews.models import Crew, Person, Qualification
from orders.desk.program import program_load
from orders.estimates.models import Method
from orders.estimates.selectors import equipment_needed
from orders.planning.models import ChainRule, SeasonFund
from orders.sites.models import Site
from orders.sites.selectors import checklist_open
from orders.supplies.models import Mix, Product, ProductDocument
from orders.supplies.selectors import equipment_counts, stock_levels
from tests import build

pytestmark = pytest.mark.django_db
DEMO = settings.BASE_DIR / "fixtures" / "demo"


@pytest.fixture(autouse=True)
def hashing(settings):
    """The real one is slow on purpose, and not what is tested here."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def folder(tmp_path):
    """A copy that a test may spoil, beside the reference that it points at; without most of the calendars."""
    shutil.copytree(DEMO.parent / "reference", tmp_path / "reference")
    copy = shutil.copytree(DEMO, tmp_path / "demo")
    spoil(copy, "calendars.json", lambda content: content.update(events=content["events"][:2]))
    return copy


def spoil(folder, file, change):
    path = folder / file
    content = json.loads(path.read_text(encoding="utf-8"))
    change(content)
    path.write_text(json.dumps(content), encoding="utf-8")


def refusal_of(folder):
    with pytest.raises(Invalid) as refusal:
        program_load(folder, stamp=build.stamp())
    assert not User.objects.exists()
    assert not Site.objects.exists()
    assert not Change.objects.exists()
    return [(error.field, error.row) for error in refusal.value.errors]


@pytest.fixture
def loaded():
    return program_load(DEMO, stamp=build.stamp())


def test_it_adds_every_entry_of_every_document(loaded):
    for file in sorted(DEMO.glob("*.json")):
        content = json.loads(file.read_text(encoding="utf-8"))
        counts = {name: len(rows) for name, rows in content.items() if isinstance(rows, list)}
        assert {name: loaded[name] for name in counts} == counts, file.name
    assert (Site.objects.count(), Crew.objects.count(), Product.objects.count()) == (6, 4, 7)


def test_it_leaves_a_site_on_purpose_with_open_questions(loaded):
    season = json.loads((DEMO / "season.json").read_text(encoding="utf-8"))["season"]
    open_questions = {site.code: len(checklist_open(site, build.WORK_DAY)) for site in Site.objects.all()}
    assert {code for code, count in open_questions.items() if count} == {"HARROW"}
    assert season["first_day"] <= str(build.WORK_DAY) <= season["last_day"]


def test_it_ties_people_to_their_users_crews_and_supervisors(loaded):
    lead = Person.objects.get(user__username="lead.hollow")
    assert lead.memberships.get().crew.name == "Hollow crew"
    technician = Qualification.objects.get(person__name="June Halvorsen")
    assert technician.supervised_by == Person.objects.get(name="Delphine Roark")


def test_it_stocks_every_product_of_every_mix(loaded):
    held = {level.product.code for level in stock_levels() if level.amount > 0}
    mixed = set(Mix.objects.values_list("parts__product__code", flat=True))
    assert mixed <= held


def test_it_lets_every_user_in_with_the_password_of_the_readme(loaded):
    rows = [line.split("`") for line in (DEMO / "README.md").read_text(encoding="utf-8").splitlines()]
    passwords = {row[1]: row[3] for row in rows if len(row) == 5 and row[3].startswith("demo-")}
    assert len(passwords) == User.objects.count() == loaded["users"]
    assert all(len(password) >= 12 for password in passwords.values())
    name, password = next(iter(passwords.items()))
    assert User.objects.get(username=name).check_password(password)


def test_it_keeps_labels_and_safety_sheets_whole(loaded):
    document = ProductDocument.objects.get(product__code="glyphosate-480", kind="label")
    assert bytes(document.file_bytes) == (DEMO / "label_glyphosate-480.pdf").read_bytes()
    assert (loaded["documents"], ProductDocument.objects.count()) == (11, 11)


def test_it_knows_the_way_in_for_an_ambulance(loaded):
    site = Site.objects.get(code="LANTERN")
    assert site.medical_phone == "859-555-0109"
    assert (site.meeting_lon, site.meeting_lat) != (None, None)


def test_it_refuses_a_second_load_and_changes_nothing(loaded):
    changes = Change.objects.count()
    with pytest.raises(Invalid) as refusal:
        program_load(DEMO, stamp=build.stamp())
    assert refusal.value.errors[0].field == "users.json: users.username"
    assert Change.objects.count() == changes


def put(name, row, **values):
    """A change of one entry of a list."""
    return lambda content: content[name][row].update(values)


def mix_part(content):
    content["mixes"][0]["parts"][1]["percent"] = 1


def cap_period(content):
    content["products"][0]["caps"][0]["period"] = "week"


@pytest.mark.parametrize(
    ("file", "change", "place", "entry"),
    [
        ("sites.json", lambda content: content["sites"][2].pop("name"), "sites.name", 3),
        ("sites.json", put("sites", 0, time_zone="Mars"), "sites.time_zone", 1),
        ("sites.json", put("sites", 0, drive_miles=6.5), "sites.drive_miles", 1),
        ("sites.json", lambda content: content.update(stes=[]), "stes", None),
        ("species.json", put("species", 1, evergren=True), "species.evergren", 2),
        ("species.json", put("species", 1, evergreen="yes"), "species.evergreen", 2),
        ("crews.json", put("people", 4, role="wizard"), "people.role", 5),
        ("crews.json", lambda content: content["members"].append(7), "members", 15),
        ("crews.json", put("absences", 0, last_day="soon"), "absences.last_day", 1),
        ("sites.json", put("sites", 0, meeting_lat=95.0), "sites.meeting_lat", 1),
        ("supplies.json", put("documents", 0, file="none.pdf"), "documents.file", None),
        ("supplies.json", put("documents", 1, kind="leaflet"), "documents.kind", 2),
        ("supplies.json", put("documents", 2, product="none"), "documents.product", 3),
        ("supplies.json", mix_part, "mixes 1: parts.percent", 2),
        ("supplies.json", cap_period, "products.caps.period", 1),
        ("supplies.json", put("lots", 0, amount=2.5), "lots.amount", 1),
        ("funds.json", put("awards", 0, fund="NONE"), "awards.fund", 1),
        ("season.json", lambda content: content["season"].update(last_day="2026-01-01"), "season.last_day", 1),
        ("season.json", lambda content: content["season"].update(budget_level="bold"), "season.level", 1),
        ("season.json", lambda content: content["season"].update(worth={"beauty": 1}), "season.beauty", 1),
        ("season.json", put("season_funds", 1, sites=["MARS"]), "season_funds.sites", 2),
        ("season.json", put("season_funds", 1, sites=["HOLLOW"]), "season_funds.sites", 2),
        ("season.json", lambda content: content["chain_rules"].update(row=1), "chain_rules.row", 1),
        ("supplies.json", put("equipment", 0, count=-1), "equipment.count", 1),
        (
            "rates.json",
            lambda content: content["methods"]["equipment"].update(hum={"chain-saw": 1}),
            "methods.equipment",
            1,
        ),
        ("rates.json", lambda content: content["methods"]["equipment"].update(cut={"axe": 1}), "methods.equipment", 1),
    ],
)
def test_it_names_file_entry_and_field_and_loads_nothing(folder, file, change, place, entry):
    spoil(folder, file, change)
    assert refusal_of(folder) == [(f"{file}: {place}", entry)]


def spoil_rule(folder, line, old, new):
    path = folder.parent / "reference" / "chain_rules.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    assert old in lines[line]
    lines[line] = lines[line].replace(old, new, 1)
    path.write_text("\n".join(lines), encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("spot-foliar,60", "spot-foliar,sixty", "least_days"),
        ("resprouts,regrowth", "resprouts,hope", "purpose"),
        (",cut,,", ",hum,,", "after"),
        ("60,365,", "366,365,", "most_days"),
    ],
)
def test_it_names_the_row_of_a_chain_rule_that_is_wrong(folder, old, new, field):
    spoil_rule(folder, 1, old, new)
    assert refusal_of(folder) == [(f"chain_rules.csv: chain_rules.{field}", 1)]


def test_it_loads_what_funds_pay_what_methods_need_and_what_follows_them(loaded):
    grant = SeasonFund.objects.get(code="GRANT")
    assert {site.code for site in grant.sites.all()} == {"HOLLOW", "TANBARK"}
    spray = Method.objects.get(code="dormant-foliar")
    assert equipment_needed()[spray.pk] == {"backpack-sprayer": 2}
    assert all(
        equipment_counts()[code] >= count for needs in equipment_needed().values() for code, count in needs.items()
    )
    assert loaded["chain_rules"] == ChainRule.objects.count()
    assert ChainRule.objects.filter(after=spray, purpose="check", least_days__gte=180).exists()


def test_it_names_a_file_that_is_missing(folder):
    (folder / "funds.json").unlink()
    assert refusal_of(folder) == [("funds.json", None)]


def test_it_names_a_file_that_is_not_json(folder):
    (folder / "funds.json").write_text("{", encoding="utf-8")
    assert refusal_of(folder) == [("funds.json", None)]


def test_the_command_tells_the_counts(capsys):
    call_command("load_program", str(DEMO), as_of=build.NOW)
    assert "6  sites" in capsys.readouterr().out


def test_the_command_says_where_the_mistake_is(folder):
    spoil(folder, "sites.json", lambda content: content["sites"][2].pop("name"))
    with pytest.raises(CommandError, match=r"sites\.json: sites\.name, entry 3: is missing"):
        call_command("load_program", str(folder), as_of=build.NOW)
