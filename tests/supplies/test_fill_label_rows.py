"""Label data that was stored in columns is there as rows after the migration, and can be taken back."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE = ("supplies", "0002_add_label_uses_weather_and_contract_prices")
AFTER = ("supplies", "0003_fill_label_uses_and_weather")

pytestmark = pytest.mark.django_db(transaction=True)


def migrated(target):
    executor = MigrationExecutor(connection)
    executor.migrate([target])
    return MigrationExecutor(connection).loader.project_state([target]).apps.get_model


@pytest.fixture
def newest():
    yield
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())


def test_it_turns_columns_into_rows_and_back(newest):
    model = migrated(BEFORE)
    product = model("supplies", "Product").objects.create(
        code="old", name="Old", uses=["cut-stem", "spot-foliar"], max_percent_vv={"cut-stem": 50}, min_temp_c=4.4
    )
    cap = {"ingredient": "glyphosate", "kg_ae_per_ha": 8, "period": "year", "kind": "label-mandatory"}
    model("supplies", "LabelCap").objects.create(
        product=product, area_basis="site", year_basis="rolling", reference="section 4", **cap
    )
    model = migrated(AFTER)
    uses = model("supplies", "LabelUse").objects.order_by("method")
    assert list(uses.values_list("method", "max_percent_vv")) == [("cut-stem", 50.0), ("spot-foliar", None)]
    (weather,) = model("supplies", "LabelWeather").objects.all()
    assert (weather.measure, weather.low, weather.high, weather.kind) == ("temperature_c", 4.4, None, "label-advisory")
    assert model("supplies", "LabelCap").objects.values_list("area_basis", "year_basis").get() == ("gross", "12 months")
    model = migrated(BEFORE)
    old = model("supplies", "Product").objects.get(code="old")
    assert (old.uses, old.max_percent_vv, old.min_temp_c) == (["cut-stem", "spot-foliar"], {"cut-stem": 50.0}, 4.4)
    assert model("supplies", "LabelCap").objects.values_list("area_basis", "year_basis").get() == ("site", "rolling")
