"""Data flows down the layout: no foreign key and no migration may point at a later stage."""

import pytest
from django.apps import apps
from django.db.migrations.loader import MigrationLoader

LAYERS = (
    "common",
    "sites",
    "crews",
    "supplies",
    "estimates",
    "planning",
    "workorders",
    "field",
    "reminders",
    "calibration",
    "costs",
)


def _place(label: str) -> int:
    return LAYERS.index(label) if label in LAYERS else -1


def _references() -> list[tuple[str, str, str]]:
    return [
        (label, related._meta.app_label, f"{model.__name__}.{field.name}")
        for label in LAYERS
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.get_fields()
        if (field.many_to_one or field.one_to_one or field.many_to_many) and field.concrete
        for related in [field.related_model]
        if related is not None
    ]


def test_it_has_no_foreign_key_that_points_down():
    assert [where for own, other, where in _references() if _place(other) > _place(own)] == []


def test_it_looks_at_real_foreign_keys():
    assert ("costs", "workorders", "OrderFunding.order") in _references()


@pytest.mark.django_db
def test_it_has_no_migration_that_depends_on_a_later_stage():
    loader = MigrationLoader(None, ignore_no_migrations=True)
    wrong = [
        f"{label}.{name} needs {other}"
        for (label, name), migration in loader.disk_migrations.items()
        for other, _ in migration.dependencies
        if label in LAYERS and other in LAYERS and _place(other) > _place(label)
    ]
    assert wrong == []


def test_it_names_every_stage_of_the_program():
    own = {config.label for config in apps.get_app_configs() if config.name.startswith("orders.")}
    assert own - {"reports", "api", "desk", "tablet"} == set(LAYERS)
