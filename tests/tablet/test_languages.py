"""Words of the server that a crew or a reader of a record sees: all in the catalogs, all in Spanish, none bare."""

import ast
import re
from pathlib import Path

import polib
import pytest

import orders

ROOT = Path(orders.__file__).parent
CATALOGS = sorted(ROOT.glob("*/locale/es/LC_MESSAGES/django.po"))
TEMPLATES = sorted(
    path for path in ROOT.glob("*/templates/**/*.html") if "i18n" in path.read_text() and "admin" not in path.parts
)
CALLS = {"_", "gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext"}
TAG = re.compile(r"""\{%\s*translate\s+(?:"([^"]+)"|'([^']+)')""")
BLOCK = re.compile(r"\{%\s*blocktranslate[^%]*%\}(.*?)\{%\s*endblocktranslate\s*%\}", re.DOTALL)
MACHINE = re.compile(r"<(style|script)\b.*?</\1>|\{#.*?#\}|<!--.*?-->|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
SPOKEN = re.compile(r"""\b(?:alt|title|placeholder|aria-label)="([^"]*)\"""")
LETTERS = re.compile(r"[^\W\d_]{2,}")


def entries(path):
    return {entry.msgid: entry for entry in polib.pofile(str(path)) if not entry.obsolete}


def known():
    return {msgid for path in CATALOGS for msgid in entries(path)}


def in_code():
    """Every string that a module asks the catalogs for."""
    found = {}
    for path in ROOT.rglob("*.py"):
        source = path.read_text()
        if "gettext" not in source:
            continue
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Call) and _name(node.func) in CALLS:
                for given in node.args[: 2 if "ngettext" in _name(node.func) else 1]:
                    if isinstance(given, ast.Constant) and isinstance(given.value, str):
                        found[given.value] = path.name
    return found


def _name(function):
    return getattr(function, "attr", getattr(function, "id", ""))


def in_templates():
    found = {}
    for path in TEMPLATES:
        text = path.read_text()
        for one, other in TAG.findall(text):
            found[one or other] = path.name
        for block in BLOCK.findall(text):
            for part in re.split(r"\{%\s*plural\s*%\}", block):
                found[re.sub(r"\{\{\s*(\w+)\s*\}\}", r"%(\1)s", part)] = path.name
    return found


def bare(text):
    """Words that no tag translates, between the tags and in what a screen reader says."""
    text = MACHINE.sub(" ", BLOCK.sub(" ", text))
    spoken = " ".join(SPOKEN.findall(text))
    return LETTERS.findall(re.sub(r"<[^>]*>", " ", text) + " " + spoken)


@pytest.mark.parametrize("path", CATALOGS, ids=lambda path: path.parts[-5])
def test_it_is_whole(path):
    told = polib.pofile(str(path))
    assert [entry.msgid for entry in told.untranslated_entries() + told.fuzzy_entries()] == []


@pytest.mark.parametrize("path", CATALOGS, ids=lambda path: path.parts[-5])
def test_it_is_compiled_as_it_is_written(path):
    compiled = {
        entry.msgid: (entry.msgstr, entry.msgstr_plural) for entry in polib.mofile(str(path.with_suffix(".mo")))
    }
    assert compiled == {key: (entry.msgstr, entry.msgstr_plural) for key, entry in entries(path).items()}


@pytest.mark.parametrize("path", CATALOGS, ids=lambda path: path.parts[-5])
def test_it_keeps_the_holes(path):
    hole = re.compile(r"%\(\w+\)[sd]|\{\w*\}|%[sd]")
    for key, entry in entries(path).items():
        for text in [entry.msgstr, *entry.msgstr_plural.values()]:
            assert not text or set(hole.findall(text)) == set(hole.findall(key)), key


def test_it_translates_every_word_that_code_asks_for():
    asked = in_code()
    assert asked
    assert {text: name for text, name in asked.items() if text not in known()} == {}


def test_it_translates_every_word_of_its_templates():
    asked = in_templates()
    assert "Starting…" in asked
    assert {text: name for text, name in asked.items() if text not in known()} == {}


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_it_has_no_bare_word_in_a_template(path):
    assert bare(path.read_text()) == []


def test_it_looks_at_every_template_of_the_tablet():
    assert set((ROOT / "tablet" / "templates").rglob("*.html")) <= set(TEMPLATES)


def test_it_would_see_a_bare_word():
    assert bare('<p>{% translate "Good" %} <b title="Bad">{{ name }}</b></p>') == ["Bad"]
    assert bare("<p>Bad</p>") == ["Bad"]
