"""An estimate tried under other conditions over HTTP: old beside new, with the label's word."""

import pytest

from orders.estimates.models import Estimate
from tests import build
from tests.api.caller import Caller, error_fields
from tests.desk.pages.estimated import estimates_made

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return estimates_made()


def _get(caller, estimate, query=""):
    return caller.get(f"/api/estimates/{estimate.public_id}/try{query and '?'}{query}")


def test_it_gives_the_same_figures_where_nothing_is_asked(desk, made):
    told = _get(desk, made["hand-pull"]).json()
    assert told["old"] == told["new"]
    assert told["conditions"]["people"] == {"crew-member": 3, "applicator": 1, "sawyer": 1}
    assert told["conditions"]["air_temperature_f"] is None


def test_it_gives_old_and_new_side_by_side(desk, made):
    count = Estimate.objects.count()
    query = "people=crew-member:3,sawyer:1&air_temperature_f=98&workload=heavy&new_workers=1&day_in_heat=1"
    told = _get(desk, made["hand-pull"], query).json()
    assert told["conditions"]["people"] == {"crew-member": 3, "sawyer": 1}
    assert told["old"]["total_cents"] == made["hand-pull"].total_cents
    assert told["new"]["crew_days"] > told["old"]["crew_days"]
    assert told["explanation"]["pace"]["heat_share"] == pytest.approx(0.8)
    assert told["explanation"]["crew_day"]["work_minutes_per_hour"] == 35
    assert Estimate.objects.count() == count


def test_it_has_no_figures_where_heat_stops_work(desk, made):
    told = _get(desk, made["hand-pull"], "air_temperature_f=112&workload=heavy").json()
    assert (told["new"], told["explanation"]) == (None, None)
    assert any("too hot" in note for note in told["notes"])


def test_it_gives_the_labels_word_for_the_mix_and_no_figures_where_it_refuses(desk, made):
    product = build.ProductFactory(uses=["basal-bark"])
    build.PriceFactory(kind="product", code=product.code, price_e4=381_000)
    stem = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 1.0}
    build.MixFactory(code="TRIED", products=[(product, 25.0, "herbicide")], **stem)
    told = _get(desk, made["cut-stem"], "mix=TRIED").json()
    assert (told["mix"], told["new"]) == ("TRIED", None)
    assert [one["code"] for one in told["label"]["findings"]] == ["use-not-allowed"]
    assert told["label"]["notice"].startswith("The label is the law.")


@pytest.mark.parametrize(
    ("query", "fields"),
    [
        ("people=crew-member", ["people"]),
        ("people=crew-member:2,crew-member:1", ["people"]),
        ("people=diver:1", ["people"]),
        ("people=crew-member:two&air_temperature_f=hot", ["people", "air_temperature_f"]),
        ("air_temperature_f=nan", ["air_temperature_f"]),
        ("air_temperature_f=1e9", ["air_temperature_f"]),
        ("workload=easy", ["workload"]),
        ("new_workers=9", ["new_workers"]),
        ("new_workers=1.5", ["new_workers"]),
        ("day_in_heat=0", ["day_in_heat"]),
        ("mix=none-such", ["mix"]),
        ("mix=", ["mix"]),
        ("wind=3", ["wind"]),
        ("new_workers=1&new_workers=2", ["new_workers"]),
    ],
)
def test_it_names_what_is_wrong(desk, made, query, fields):
    reply = _get(desk, made["cut-stem"], query)
    assert (reply.status_code, error_fields(reply)) == (400, fields)


def test_it_says_that_the_facts_of_an_old_estimate_were_not_kept(desk):
    reply = _get(desk, build.EstimateFactory())
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("pesticide_supervisor", 200), ("crew_lead", 403)])
def test_it_opens_to_the_office(made, role, status):
    assert _get(Caller(build.UserFactory(roles=[role])), made["cut"]).status_code == status


def test_it_knows_no_estimate_that_is_not_there(desk):
    assert desk.get("/api/estimates/00000000-0000-4000-8000-000000000000/try").status_code == 404
