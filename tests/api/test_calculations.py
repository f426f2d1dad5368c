"""Sprayer, mix and acid equivalent: the answer, its working, and a clear no."""

import pytest

from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


def asked(caller, address, **query):
    return caller.get(f"/api/calculations/{address}", query)


def answers(reply):
    assert reply.status_code == 200, reply.json()
    return {answer["name"]: answer["value"] for answer in reply.json()["answers"]}


def test_it_calibrates_on_a_plot(lead):
    found = answers(asked(lead, "sprayer", way="plot", caught_fl_oz=25, plot_length_ft=20, plot_width_ft=17.015625))
    assert found["carrier_gpa"] == pytest.approx(25)


def test_it_calibrates_along_a_course(desk):
    query = {"course_ft": 204, "course_seconds": 30, "width_in": 20, "caught_fl_oz": 17}
    found = answers(asked(desk, "sprayer", way="course", **query))
    assert found["carrier_gpa"] == pytest.approx(17.02, abs=0.005)
    assert found["speed_mph"] == pytest.approx(4.636, abs=0.0005)


def test_it_mixes_a_load_by_percent(lead):
    reply = asked(lead, "mix-load", by="percent", percent_vv=2, tank_gal=4)
    assert answers(reply)["product_per_tank"] == pytest.approx(10.24)
    assert reply.json()["steps"][0].startswith("Put half of the water")


def test_it_mixes_a_load_by_rate(lead):
    reply = asked(lead, "mix-load", by="rate", rate_per_acre=8, carrier_gpa=7.5, tank_gal=3)
    assert answers(reply)["product_per_tank"] == pytest.approx(3.2)
    assert reply.json()["answers"][0]["metric"] == pytest.approx(94.6, abs=0.05)


def test_it_finds_the_acid_on_an_acre(desk):
    reply = asked(desk, "acid-equivalent", strength=2, product_fl_oz_per_acre=96, most_lb_ae_per_acre=1.5)
    assert answers(reply)["lb_ae_per_acre"] == 1.5
    assert reply.json()["refusal"] == ""


def test_it_refuses_what_is_above_the_labels_limit(desk):
    query = {"strength": 2, "product_fl_oz_per_acre": 64, "earlier_lb_ae_per_acre": 1, "most_lb_ae_per_acre": 1.5}
    reply = asked(desk, "acid-equivalent", **query)
    assert "2 lb ae per acre is more than 1.5" in reply.json()["refusal"]
    assert set(answers(reply)) == {"total_lb_ae_per_acre", "left_lb_ae_per_acre", "left_product_per_acre"}


def test_it_shows_the_formula_with_its_figures(desk):
    (_, line) = asked(desk, "sprayer", way="plot", caught_fl_oz=40).json()["working"]
    assert (line["formula"], line["filled"]) == (
        "fl oz ÷ 128 × 43,560 ÷ plot ft²",
        "40 ÷ 128 × 43,560 ÷ 342.25",
    )


def test_it_says_that_the_label_is_the_law(desk):
    for address, query in (
        ("sprayer", {"way": "plot", "caught_fl_oz": 25}),
        ("mix-load", {"by": "percent", "percent_vv": 2}),
        ("acid-equivalent", {"strength": 4, "product_fl_oz_per_acre": 64}),
    ):
        assert "label is the law" in " ".join(asked(desk, address, **query).json()["cautions"])


@pytest.mark.parametrize(
    ("address", "query", "field"),
    [
        ("sprayer", {}, "way"),
        ("sprayer", {"way": "boat"}, "way"),
        ("sprayer", {"way": "plot"}, "caught_fl_oz"),
        ("sprayer", {"way": "plot", "caught_fl_oz": "many"}, "caught_fl_oz"),
        ("sprayer", {"way": "plot", "caught_fl_oz": "nan"}, "caught_fl_oz"),
        ("sprayer", {"way": "plot", "caught_fl_oz": 25, "catch_seconds": 30}, "spray_seconds"),
        ("sprayer", {"way": "plot", "caught_fl_oz": 25, "course_ft": 200}, "course_ft"),
        ("sprayer", {"way": "plot", "caught_fl_oz": ""}, "caught_fl_oz"),
        ("mix-load", {"by": "percent", "percent_vv": 101}, "percent_vv"),
        ("mix-load", {"by": "percent", "percent_vv": 2, "area_acres": 1}, "carrier_gpa"),
        ("mix-load", {"by": "percent", "percent_vv": 95, "surfactant_percent_vv": 10}, "tank_gal"),
        ("mix-load", {"by": "rate", "rate_per_acre": 8, "carrier_gpa": 20, "rate_unit": "jar"}, "rate_unit"),
        ("acid-equivalent", {"strength": 4}, "product_fl_oz_per_acre"),
        ("acid-equivalent", {"strength": 4, "product_fl_oz_per_acre": 64, "percent_vv": 2}, "product_fl_oz_per_acre"),
        ("acid-equivalent", {"strength": 4, "strength_unit": "lb-ai-gal", "product_fl_oz_per_acre": 1}, "ae_ratio"),
        ("acid-equivalent", {"strength": 4, "ae_ratio": 0.75, "product_fl_oz_per_acre": 1}, "ae_ratio"),
    ],
)
def test_it_names_what_is_wrong(desk, address, query, field):
    reply = asked(desk, address, **query)
    assert (reply.status_code, error_fields(reply)) == (400, [field])
