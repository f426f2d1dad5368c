"""Every text of what is printed has its Spanish, and the compiled file holds the same."""

import ast
import gettext
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HELD = ROOT / "orders/desk/locale/es/LC_MESSAGES/django.mo"
PLACES = ("desk/paper*.py", "desk/packets/paper*.py", "workorders/records/*.py", "workorders/printing.py")
SOURCES = sorted(path for place in PLACES for path in (ROOT / "orders").glob(place))


def texts(path):
    calls = (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call))
    return {
        node.args[0].value
        for node in calls
        if isinstance(node.func, ast.Name) and node.func.id == "_" and isinstance(node.args[0], ast.Constant)
    }


@pytest.fixture(scope="module")
def spanish():
    with HELD.open("rb") as file:
        return gettext.GNUTranslations(file)


@pytest.mark.parametrize("path", [path for path in SOURCES if texts(path)], ids=lambda path: path.stem)
def test_it_says_everything_in_spanish(spanish, path):
    same = {"no", "%(minutes)d min"}  # in both languages
    assert {text for text in texts(path) if spanish.gettext(text) == text} - same == set()


def test_it_looks_at_real_texts():
    assert sum(len(texts(path)) for path in SOURCES) > 90
