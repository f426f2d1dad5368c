"""The app's words: each in English and Spanish, none in code, none that nobody uses."""

import re
from functools import cache

import pytest

from tests.tablet import javascript
from tests.tablet.javascript import Literal, code, literals, messages, modules

LANGUAGES = ("en", "es")
# Categories of Unicode's plural rules (cldr.unicode.org, "Language Plural Rules"); Spanish `many` is for millions.
FORMS = {"en": {"one", "other"}, "es": {"one", "other"}}
MAY = {"en": set(), "es": {"many"}}

# Where a string is for the machine, by what stands before it.
MACHINE = re.compile(
    r"""(?:\b(?:class|className|rel|type|role|d|points|viewBox|transform|autocomplete|inputmode|origin|kind|mode|scope|"""
    r"""fill|stroke|font|form|href|src|accept|dasharray|style|cursor)"?\s*[:=]\s*
    |\bclass:\s[^,]*
    |\b(?:Error|Unreached|postMessage)\(|querySelector(?:All)?\(|matches\(|closest\(|matchMedia\(|import\(|from\s|classList\.\w+\(.*|console\.\w+\(
    |headers\.get\(|setAttribute\("class",\s|(?:case|===|!==)\s|(?:Accept|Authorization|"Content-Type"):\s|Content-Type"\)\s*===?\s
    |\bkey\s===\s|h\()$""",
    re.VERBOSE,
)
WORDS = re.compile(r"[^\W\d_]{2,}[,;:]?\s+[^\W\d_]{2,}")
SENTENCE = re.compile(r"^\s*[A-ZÁÉÍÓÚÑ¿¡][a-záéíóúñ]{2,}")
# Names that are no words of ours: of standards, events, headers.
NAMES = {
    "Accept", "Authorization", "BroadcastChannel", "Content-Type", "Enter", "Escape", "Feature", "FeatureCollection",
    "LineString", "MultiPolygon", "Point", "Polygon", "Retry-After", "Tablet …", "Upload-Offset", "Exif", "ArrowLeft",
    "ArrowRight", "ArrowUp", "ArrowDown", "Infinity", "fl oz", "unsent work",
}  # fmt: skip


@cache
def table():
    return messages()


def is_bare(literal: Literal) -> bool:
    """Text that a person would read, where a key should stand."""
    if literal.text in NAMES or MACHINE.search(literal.before):
        return False
    plain = literal.text.replace("…", " ")
    return bool(WORDS.search(plain) or SENTENCE.search(plain))


def shown(row, language):
    return row[language] if isinstance(row[language], dict) else {"": row[language]}


def holes(text):
    return set(re.findall(r"\{(\w+)\}", text))


def test_it_reads_messages():
    assert table()["core.saved"]["es"] == "Guardado en esta tableta"


def test_it_has_every_message_in_each_language():
    wrong = [key for key, row in table().items() if set(row) != set(LANGUAGES)]
    empty = [key for key, row in table().items() for text in row.values() if not text]
    assert wrong + empty == []


def test_it_has_every_plural_form():
    wrong = []
    for key, row in table().items():
        if isinstance(row["en"], dict) or isinstance(row["es"], dict):
            for language in LANGUAGES:
                forms = set(row[language]) if isinstance(row[language], dict) else set()
                if not FORMS[language] <= forms <= FORMS[language] | MAY[language]:
                    wrong.append((key, language, forms))
    assert wrong == []


def test_it_has_the_same_holes_in_each_language():
    """`one` may leave out the number: "one person" is better than "1 person"."""
    wrong = []
    for key, row in table().items():
        wanted = {name for text in shown(row, "en").values() for name in holes(text)}
        for form, text in shown(row, "es").items():
            optional = {"n"} if form == "one" else set()
            if not wanted - optional <= holes(text) <= wanted:
                wrong.append((key, form))
    assert wrong == []


def test_it_translates_and_does_not_copy():
    """A word that is the same in both is short or a unit; a sentence is not."""
    same = [key for key, row in table().items() if row["en"] == row["es"] and len(str(row["en"]).split()) > 3]
    assert same == ["core.hours_minutes"]


@pytest.mark.parametrize("path", modules(), ids=lambda path: f"{path.parent.name}/{path.name}")
def test_it_has_no_bare_text_in_code(path):
    if path.parent.name == "messages":
        return
    bare = [(one.line, one.text) for one in literals(path) if is_bare(one)]
    assert bare == []


@pytest.mark.parametrize(
    ("source", "is_found"),
    [
        ('button("Close the order", go)', True),
        ('notice("Listo")', True),
        ("say(`${name} is in`)", True),
        ('pageHead("¿Quién es?")', True),
        ('button(t("work.start"), go)', False),
        ('h("div", { class: "row wide" })', False),
        ('throw new Error("no such thing")', False),
        ('import { t } from "../core/i18n.js";', False),
        ("// a word of comment", False),
    ],
)
def test_it_would_see_bare_text(source, is_found):
    assert any(is_bare(one) for one in javascript._literals(source, "x.js")) == is_found


def _all_code():
    return {path.name: code(path) for path in modules() if path.parent.name != "messages"}


def test_it_has_a_message_for_every_key_that_code_names():
    named = {key for text in _all_code().values() for key in re.findall(r'\btn?\(\s*"([\w.-]+)"', text)}
    assert sorted(named - set(table())) == []


def test_it_has_no_message_that_nothing_uses():
    text = "\n".join(_all_code().values())
    built = tuple(re.findall(r"`([\w-]+(?:\.[\w-]+)*[._-])\$\{", text))
    unused = [key for key in table() if f'"{key}"' not in text and not key.startswith(built)]
    assert unused == []
