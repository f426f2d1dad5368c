"""Nothing in the program deletes a record or what it rests on, and nothing that is deleted takes one with it."""

import ast
from pathlib import Path

import pytest
from django.db import models

from orders.workorders import models as workorders

ROOT = Path(__file__).resolve().parents[3] / "orders"
KEPT = (
    workorders.ApplicationRecord,
    workorders.RecordProfile,
    workorders.RecordHold,
    workorders.MixBatch,
    workorders.BatchPart,
    workorders.Application,
    workorders.ApplicationPerson,
    workorders.MixDayEnd,
    workorders.WeatherCheck,
    workorders.Photo,
    workorders.Incident,
    workorders.SignPosting,
    workorders.CloseOut,
    workorders.MaterialUse,
)
# Who deletes, and nobody else: drafts, links between rows, tokens, counts of tries, and rows of master data with their
# version.
DELETES = {
    "api/tokens.py",
    "common/rows.py",
    "common/services.py",
    "costs/services/funding.py",
    "costs/services/posting.py",
    "costs/services/splitting.py",
    "estimates/services/methods.py",
    "estimates/services/rate_books.py",
    "estimates/services/rates.py",
    "field/services/overdue.py",
    "planning/again.py",
    "planning/funds.py",
    "sites/services/survey_files.py",
    "supplies/services/parts.py",
    "workorders/moving.py",
}


def deleting(path):
    called = (node.func for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call))
    return any(isinstance(func, ast.Attribute) and func.attr in {"delete", "_raw_delete"} for func in called)


def test_it_knows_everything_that_deletes():
    paths = (path for path in ROOT.rglob("*.py") if "migrations" not in path.parts)
    assert {str(path.relative_to(ROOT)) for path in paths if deleting(path)} == DELETES


@pytest.mark.parametrize("name", sorted(DELETES))
def test_what_deletes_speaks_of_no_kept_table_without_triggers(name):
    named = {node.id for node in ast.walk(ast.parse((ROOT / name).read_text())) if isinstance(node, ast.Name)}
    unguarded = {model.__name__ for model in KEPT if not getattr(model, "append_only", False)}
    assert unguarded == {"RecordProfile", "RecordHold", "Photo"}
    assert not named & unguarded


@pytest.mark.parametrize("model", KEPT)
def test_nothing_that_is_deleted_takes_a_kept_row_with_it(model):
    pointing = [field for field in model._meta.concrete_fields if isinstance(field, models.ForeignKey)]
    assert {field.remote_field.on_delete for field in pointing} <= {models.PROTECT}


def test_the_database_refuses_to_delete_what_was_signed():
    frozen = {model for model in KEPT if getattr(model, "append_only", False)}
    assert {workorders.ApplicationRecord, workorders.Application, workorders.MixBatch} <= frozen
