"""Just enough of the app's modules for tests: the tables of messages, and the strings that stand in code."""

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orders.tablet.shell_files import STATIC

TOKEN = re.compile(
    r"""(?P<comment>//[^\n]*|/\*.*?\*/)
    |(?P<string>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*')
    |(?P<template>`(?:\\.|[^`\\])*`)
    |(?P<regex>(?<=[=(,:\s])/(?![/*\s])(?:\\.|\[(?:\\.|[^\]\n])*\]|[^/\\\n\[])+/[a-z]*)
    |(?P<other>.)""",
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True)
class Literal:
    """A string in code: where it stands, what stands before it on its line, and its own text."""

    file: str
    line: int
    before: str
    text: str


def modules() -> list[Path]:
    return sorted(path for path in STATIC.rglob("*.js") if path.parent != STATIC)


def code(path: Path) -> str:
    """A module without its comments."""
    tokens = TOKEN.finditer(path.read_text())
    return "".join("" if token.lastgroup == "comment" else token.group() for token in tokens)


def literals(path: Path) -> list[Literal]:
    return _literals(path.read_text(), path.relative_to(STATIC).as_posix())


def _literals(source: str, name: str) -> list[Literal]:
    found = []
    for token in TOKEN.finditer(source):
        before = source[source.rfind("\n", 0, token.start()) + 1 : token.start()]
        line = source.count("\n", 0, token.start()) + 1
        if token.lastgroup == "string":
            found.append(Literal(name, line, before, token.group()[1:-1]))
        elif token.lastgroup == "template":
            found += _template(token.group()[1:-1], name, line, before)
    return found


def _template(body: str, name: str, line: int, before: str) -> list[Literal]:
    """The words between the holes, and the strings in the holes."""
    holes = re.findall(r"\$\{((?:[^{}]|\{[^{}]*\})*)\}", body)
    words = re.sub(r"\$\{((?:[^{}]|\{[^{}]*\})*)\}", "…", body)
    inside = [literal for hole in holes for literal in _literals(hole, name)]
    return [Literal(name, line, before, words), *inside]


def table(path: Path) -> dict[str, Any]:
    """The messages that a module holds; those of a module that only gathers others are none."""
    body = code(path)
    if "import " in body:
        return {}
    body = body[body.index("{") : body.rindex("}") + 1]
    quoted = re.sub(r'("(?:\\.|[^"\\])*")|([A-Za-z_]\w*)(?=\s*:)', lambda m: m.group(1) or f'"{m.group(2)}"', body)
    return dict(json.loads(re.sub(r",(?=\s*[}\]])", "", quoted)))


def messages() -> dict[str, Any]:
    """All of them; a key that two files have is an error."""
    found: dict[str, Any] = {}
    for path in sorted((STATIC / "messages").glob("*.js")):
        for key, row in table(path).items():
            assert key not in found, f"{key} stands twice"
            found[key] = row
    return found
