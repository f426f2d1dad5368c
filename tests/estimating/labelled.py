"""An invented product and its uses, for the tests of the label guard."""

from datetime import date
from typing import Any

from estimating.columns import Known
from estimating.labels import Application, Cap, GuardPolicy, ProductLabel

POLICY = GuardPolicy(today=date(2027, 3, 1))


def cap(kg_ae_per_ha=2.0, **more):
    given: dict[str, Any] = {"ingredient": "glyphosate", "period": "year", "reference": "invented label, section 4"}
    return Cap(kg_ae_per_ha=kg_ae_per_ha, **(given | more))


def label(**changed):
    given: dict[str, Any] = {
        "code": "blue label",
        "name": "Blue Label",
        "registration_number": "99999-1",
        "label_version": "2026-05",
        "label_reference": "invented label of May 2026",
        "reviewed_on": date(2027, 1, 15),
        "states": {"KY"},
        "uses": {"cut-stem", "dormant-foliar"},
        "ingredients": {"glyphosate": 360.0},
        "caps": [cap()],
    }
    return ProductLabel(**(given | changed))


def use(**changed):
    given: dict[str, Any] = {
        "row": "order 1",
        "patch": "patch 0",
        "product": "blue label",
        "method": "dormant-foliar",
        "on": date(2027, 3, 10),
        "product_l": 1.0,
        "treated_area_m2": 10_000.0,
        "gross_area_m2": 50_000.0,
        "state": "KY",
        "distance_to_water_m": 200.0,
        "desirable_tree_roots": Known.NO,
    }
    return Application(**(given | changed))
