"""Budgets that keep the house liveable: a function fits on a screen, a file can be read in one go."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FUNCTION_STATEMENTS = 30
FILE_LINES = {".py": 400, ".js": 200, ".html": 150}
ROOMS = ("estimating", "orders", "deploy", "tests", "fixtures")


def _files(*suffixes: str) -> list[Path]:
    found = [path for room in ROOMS for path in (ROOT / room).rglob("*") if path.suffix in suffixes]
    return sorted(path for path in found if "migrations" not in path.parts)


def _statements(function: ast.AST) -> int:
    return sum(isinstance(node, ast.stmt) for node in ast.walk(function)) - 1


def _long_functions(path: Path) -> list[str]:
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    return [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}: {_statements(node)}"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, functions) and _statements(node) > FUNCTION_STATEMENTS
    ]


def test_it_keeps_functions_short():
    assert [line for path in _files(".py") for line in _long_functions(path)] == []


@pytest.mark.parametrize("suffix", FILE_LINES)
def test_it_keeps_files_short(suffix):
    long = {str(path.relative_to(ROOT)): len(path.read_text().splitlines()) for path in _files(suffix)}
    assert {name: lines for name, lines in long.items() if lines > FILE_LINES[suffix]} == {}


def test_it_sees_a_long_function():
    body = "\n".join(f"    a{n} = {n}" for n in range(FUNCTION_STATEMENTS + 1))
    tree = ast.parse(f"def f():\n{body}\n").body[0]
    assert _statements(tree) > FUNCTION_STATEMENTS


def test_it_keeps_the_top_level_as_agreed():
    agreed = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "pyproject.toml"}
    agreed |= {"orders", "estimating", "tests", "fixtures", "deploy"}
    present = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name != "__pycache__"}
    assert present - agreed == set()
