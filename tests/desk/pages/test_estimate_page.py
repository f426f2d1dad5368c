"""An estimate's page: each figure can be made again with a pencil from what the page shows."""

import html
import math
import re
from fractions import Fraction

import pytest
from django.urls import reverse

from orders.desk.templatetags.desk import money
from orders.desk.templatetags.units import unit_words
from tests import build
from tests.desk.pages.estimated import estimates_made

pytestmark = pytest.mark.django_db
NEAR = 2e-5  # six digits in each term
SMALL_UNITS = {"s": 3_600, "µL": 1_000_000, "thousandths of a mile": 1_000, "thousandths of a blade": 1_000, "bag": 1}


@pytest.fixture
def made(coordinator, client):
    client.force_login(coordinator)
    return estimates_made()


def _page(client, estimate):
    return html.unescape(client.get(reverse("estimate", args=[estimate.public_id])).content.decode())


def _found(pattern, text, group=1):
    """The group of the first match; a page without it fails the test."""
    match = re.search(pattern, text, re.DOTALL)
    assert match, pattern
    return match[group]


def _text(markup):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", markup)).strip()


def _number(text):
    return float(re.sub(r"[^\d.\-]", "", text.replace("−", "-")))


def _cells(row):
    return [_text(cell) for cell in re.findall(r"<t[hd]\b.*?>(.*?)</t[hd]>", row, re.DOTALL)]


def _lines(page):
    """Key -> (how, figure) of every line of arithmetic."""
    rows = re.findall(r'<tr data-line="([\w-]+)">(.*?)</tr>', page, re.DOTALL)
    return {key: _cells(row)[1:] for key, row in rows}


def _figure(lines, key):
    return _number(lines[key][1])


def _computed(how):
    """What a formula on the page comes to, read as a person with a pencil reads it."""
    plain = re.sub(r"(?<=\d),(?=\d{3})", "", how)
    plain = re.sub(r"of 60 minutes.*", "/60", plain)
    plain = re.sub(r"[a-zA-Z²³%][a-zA-Z²³%]*", "", plain.replace("m²", "").replace("e^", "E"))
    return eval(plain.replace("×", "*").replace("÷", "/").replace("−", "-"), {})


def _steps(page):
    found = re.findall(r'<details class="drawer" data-step="[^"]*">(.*?)</details>', page, re.DOTALL)
    return [
        (_number(_found(r"data-hours>([^<]*)<", step)), re.findall(r"<tr data-part>(.*?)</tr>", step, re.DOTALL))
        for step in found
    ]


def _product(formula):
    return math.prod(_number(_found(r"[\d.,]+", term.strip(), 0)) for term in formula.split("×"))


def test_it_shows_steps_whose_parts_make_their_hours(client, made):
    for estimate in made.values():
        for hours, parts in _steps(_page(client, estimate)):
            shown = [_number(_cells(part)[-1]) for part in parts]
            worked = [_product(_cells(part)[-2]) for part in parts]
            assert shown == pytest.approx(worked, rel=NEAR, abs=1e-9)
            assert sum(shown) == pytest.approx(hours, rel=NEAR, abs=1e-9)


def test_it_leads_from_the_steps_to_crew_days(client, made):
    for estimate in made.values():
        page = _page(client, estimate)
        lines = _lines(page)
        standard = sum(hours for hours, _ in _steps(page))
        assert _figure(lines, "standard-hours") == pytest.approx(standard, rel=NEAR)
        for key in ("effective-people", "field-hours", "day-productive", "crew-days", "crew-hours", "paid-hours"):
            assert (key, _figure(lines, key)) == (key, pytest.approx(_computed(lines[key][0]), rel=NEAR))
        parts = sum(_figure(lines, key) for key in lines if key.startswith("day-") and key.endswith("_hours"))
        assert _figure(lines, "day-on-site") == pytest.approx(_figure(lines, "day-shift") - parts, rel=NEAR)
        assert _figure(lines, "crew-days") == pytest.approx(estimate.crew_days, rel=NEAR)
        assert _figure(lines, "paid-hours") == pytest.approx(estimate.paid_person_hours, rel=NEAR)


def _bill(page):
    """Category -> (exact dollars of its lines, the sum shown)."""
    found = {}
    for code, body in re.findall(r'<tbody data-category="(\w+)">(.*?)</tbody>', page, re.DOTALL):
        exact = sum((_exact(row) for row in re.findall(r"<tr data-money>(.*?)</tr>", body, re.DOTALL)), Fraction(0))
        found[code] = (exact, _text(_found(r"<strong>(.*?)</strong>", body)))
    return found


def _exact(row):
    quantity = _text(_found(r"<td data-quantity>(.*?)</td>", row)).partition(" = ")[0]
    count, _, unit = quantity.partition(" ")
    price = _text(_found(r"<span data-price>(.*?)</span>", row))
    ratio = re.search(r"exactly ([\d,]+) ÷ ([\d,]+)", price)
    digits = [text.replace(",", "") for text in (ratio.groups() if ratio else (price[1:].partition(" ")[0], "1"))]
    return Fraction(int(count.replace(",", "")), SMALL_UNITS[unit]) * Fraction(digits[0]) / Fraction(digits[1])


def test_it_shows_a_bill_that_adds_up_to_the_cent(client, made):
    for estimate in made.values():
        page = _page(client, estimate)
        bill = _bill(page)
        sums = {code: math.floor(exact * 100 + Fraction(1, 2)) for code, (exact, _) in bill.items()}
        assert {code: money(cents) for code, cents in sums.items()} == {
            code: shown for code, (_, shown) in bill.items()
        }
        assert sum(sums.values()) == estimate.total_cents
        assert f'Likely total</th><td class="number">{money(estimate.total_cents)}' in page


def test_it_says_where_the_hours_of_the_bill_are_from(client, made):
    page = _page(client, made["cut-stem"])
    rows = re.findall(r"<tr data-money>(.*?)</tr>", page, re.DOTALL)
    field = [row for row in rows if "ield work" in row]
    assert len(field) == 3
    for row in field:
        how = _text(_found(r'<span class="quiet">(.*?)</span>', row))
        seconds = _number(_text(_found(r"<td data-quantity>(.*?) s =", row)))
        assert _computed(how) * 3_600 == pytest.approx(seconds, abs=1.5)


def test_it_shows_where_each_quantity_is_from(client, made):
    rows = re.findall(r'<tr data-line="quantity">(.*?)</tr>', _page(client, made["cut-stem"]), re.DOTALL)
    lines = [_cells(row) for row in rows]
    assert {"Bags", "Fuel", "Mix in all", "Tank loads", "Mastline 41"} <= {what for what, *_ in lines} | {"Bags"}
    for _, how, figure in lines:
        if not how.startswith("sum"):
            plain = re.sub(r"\([^()]*(?:\([^()]*\)[^()]*)*\)", "", how.removesuffix(", rounded up"))
            value = _computed(plain)
            value = math.ceil(value - 1e-9) if how.endswith("rounded up") else value
            assert (how, _number(_found(r"[\d.,]+", figure, 0))) == (how, pytest.approx(value, rel=NEAR))


def _exponential(how):
    plain = re.sub(r"(?<=\d),(?=\d{3})", "", how)
    plain = plain.replace("e^(", "math.exp(").replace("²", "**2").replace("√", "math.sqrt")
    return eval(plain.replace("×", "*").replace("÷", "/").replace("−", "-"), {"math": math})


def test_it_shows_how_the_ranges_and_the_contingency_come_about(client, made):
    for code in ("cut-stem", "hand-pull"):
        lines = _lines(_page(client, made[code]))
        for key in (
            "log-sd",
            "hours-low",
            "hours-high",
            "hours-mean",
            "cost-low",
            "cost-high",
            "cost-level",
            "contingency",
        ):
            assert (key, _figure(lines, key)) == (key, pytest.approx(_exponential(lines[key][0]), rel=1e-4))


def test_it_shows_the_contract_price(client, made):
    page = _page(client, made["cut-stem"])
    least, area, price = (
        _found(r"larger of ([\d,.]+ and [\d,]+ m² ÷ 10,000 × [\d,.]+)", page)
        .replace(" m² ÷ 10,000 × ", " and ")
        .split(" and ")
    )
    asked = max(_number(least), _number(area) / 10_000 * _number(price))
    assert _figure(_lines(page), "contract") == pytest.approx(asked, abs=0.006)
    assert "no price known" in _page(client, made["hand-pull"])


def test_it_names_cautions_by_method_and_ground(client, made):
    cut, pull = _page(client, made["cut-stem"]), _page(client, made["monitor"])
    assert all(f"<strong>{what}.</strong>" in cut for what in ("Herbicide", "Saws and blades", "Steep ground", "Heat"))
    assert "The label, local rules and a licensed person decide" in pull
    assert "<strong>Herbicide.</strong>" not in pull


def test_it_shows_a_mix_card_with_its_order(client, made):
    page = _page(client, made["cut-stem"])
    assert "Put half of the water into the clean tank" in page
    assert "Add Mastline 41" in page


def test_it_calls_products_and_species_by_their_names(client, made):
    seen = re.sub(r"<[^>]*>", " ", _page(client, made["cut-stem"]))
    grown = [row.species for row in made["cut-stem"].survey.components.select_related("species")]
    assert {row.common_name in seen for row in grown} == {True}
    assert not re.search(
        "|".join(rf"\b{re.escape(code)}\b" for code in ("MAST-41", *(row.code for row in grown))), seen
    )


def test_it_shows_what_the_label_refuses(client, made):
    """The invented label gives a cap and a use, but the state of the site is not among its states."""
    product = made["cut-stem"].mix.parts.get(part="herbicide").product
    type(product).objects.filter(pk=product.pk).update(states=["XX"])
    page = _page(client, made["cut-stem"])
    assert "The label is the law" in page
    assert "Refused: nobody may let this pass" in page
    assert "What the label says" not in _page(client, made["hand-pull"])


def test_it_leads_each_rate_to_its_row(client, made):
    page = _page(client, made["cut-stem"])
    rows = {int(row) for row in re.findall(r"#rate-(\d+)", page)}
    assert rows == {part["rate_row"] for step in made["cut-stem"].result["steps"] for part in step["parts"]}
    book = client.get(_found(r'href="([^"]*)#rate-', page)).content.decode()
    found = {int(row): _cells(cells) for row, cells in re.findall(r'<tr id="rate-(\d+)">(.*?)</tr>', book, re.DOTALL)}
    part = made["cut-stem"].result["steps"][1]["parts"][0]
    value, _, told = found[part["rate_row"]][2].partition(" ")
    assert [float(value), told.strip()] == [part["rate"], unit_words(part["unit"])]


def test_it_says_that_a_newer_survey_counts(client, made):
    estimate = made["hand-pull"]
    build.SurveyFactory(patch=estimate.survey.patch, observed_on=estimate.survey.observed_on.replace(year=2028))
    assert "A newer survey of its patch counts now." in _page(client, estimate)


def test_it_escapes_what_people_typed(client, made):
    page = client.get(reverse("estimate", args=[made["cut"].public_id])).content.decode()
    assert "Old &lt;orchard&gt;" in page
    assert "<orchard>" not in page
    assert "style=" not in page


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("pesticide_supervisor", 200), ("crew_lead", 403)])
def test_it_opens_by_role(client, role, status):
    estimate = build.EstimateFactory()
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("estimate", args=[estimate.public_id])).status_code == status


def test_it_shows_the_sums_of_an_estimate_that_kept_nothing_else(client, coordinator):
    client.force_login(coordinator)
    page = _page(client, build.EstimateFactory())
    assert "made before its steps were kept" in page
    assert "$381.80" in page


def test_it_shows_an_estimate_of_the_first_version(client, made):
    """As it was frozen before pace, drivers and lines were kept."""
    old = {name: value for name, value in made["cut-stem"].result.items() if name not in ("version", "pace", "range")}
    old["money"] = {name: value for name, value in old["money"].items() if name.endswith("_cents")}
    old["steps"] = [_first_version(step) for step in old["steps"]]
    old["crew_day"] = {name: value for name, value in old["crew_day"].items() if name not in ("crew_sent", "workload")}
    estimate = build.EstimateFactory(result=old, survey=made["cut-stem"].survey, inputs=made["cut-stem"].inputs)
    page = _page(client, estimate)
    assert "Cut small stems" in page
    assert _figure(_lines(page), "crew-days") > 0
    assert "Labor, rounded once" in page


def _first_version(step):
    return step | {"parts": [{k: v for k, v in part.items() if k != "hours_per_unit"} for part in step["parts"]]}
