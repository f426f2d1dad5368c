"""estimating/ computes and nothing else: standard library and numpy, no clock, no files, no settings."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import estimating

FILES = sorted(Path(estimating.__file__).parent.glob("*.py"))
THIRD_PARTY = {"numpy"}
# One module loads the exact solver, and is itself loaded only where it is called.
SOLVER = {"plan_repair.py": {"ortools"}}
IMPURE = {"os", "io", "time", "random", "socket", "subprocess", "pathlib", "logging", "sqlite3", "urllib", "pickle"}
CLOCK = {"now", "utcnow", "today", "time", "open", "input", "print", "eval", "exec"}


def imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield (node.module or "").split(".")[0]


def called(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_imports_only_numpy_and_the_standard_library(path):
    found = set(imported(ast.parse(path.read_text())))
    allowed = THIRD_PARTY | SOLVER.get(path.name, set())
    assert found - allowed - {"estimating"} <= set(sys.stdlib_module_names) - IMPURE


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_reads_no_clock_and_opens_no_file(path):
    assert set(called(ast.parse(path.read_text()))) & CLOCK == set()


def test_it_starts_without_the_solver():
    found = subprocess.run(
        [
            sys.executable,
            "-c",
            "import estimating.schedule, estimating.plan_bound, sys; print('ortools' in sys.modules)",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert found.stdout.strip() == "False"


def test_it_looks_at_every_module():
    assert len(FILES) > 20
