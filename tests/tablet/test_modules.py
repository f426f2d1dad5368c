"""The app's modules hang together: what one imports is there, and none lies about unused."""

import re

from orders.tablet.shell_files import STATIC
from tests.tablet.javascript import code, modules

IMPORT = re.compile(r"""(?:from|import)\s*\(?\s*"(\.[^"]+)"|^import "(\.[^"]+)""", re.MULTILINE)
FORBIDDEN = (
    "innerHTML",
    "outerHTML",
    "insertAdjacentHTML",
    "document.write",
    "eval(",
    "localStorage",
    "http:",
    "https:",
)
NAMESPACE = "http://www.w3.org/2000/svg"  # a name, not an address


def imported(path):
    return {(path.parent / (one or other)).resolve() for one, other in IMPORT.findall(code(path))}


def test_it_imports_only_what_is_there():
    missing = {(path.name, one.name) for path in modules() for one in imported(path) if not one.is_file()}
    assert missing == set()


def test_it_uses_every_module():
    reached, left = set(), [(STATIC / "core" / "start.js").resolve()]
    while left:
        path = left.pop()
        if path not in reached and path.is_file():
            reached.add(path)
            left += imported(path)
    assert {path.resolve() for path in modules()} - reached == set()


def test_it_makes_no_markup_of_strings_and_asks_no_other_host():
    """Data never becomes a tag, what is kept lies in the one store, and nothing comes from elsewhere."""
    found = {(path.name, word) for path in modules() for word in FORBIDDEN if word in code(path).replace(NAMESPACE, "")}
    assert found == set()
