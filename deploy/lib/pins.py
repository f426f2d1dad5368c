"""Does requirements.txt name all that is needed, nothing that is not, each in its part? Run in the virtual environment.

python -m deploy.lib.pins
"""

import sys
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
UNWANTED = {"brotli": "with it, collectstatic takes many times as long (measured: 39 s instead of 2.7 s)"}


def read_requirements(path: Path) -> dict[str, list[Requirement]]:
    """The requirements under each comment that is a heading of a part ("Run time: ...", "Tests: ...")."""
    parts: dict[str, list[Requirement]] = {}
    part = "Run time"
    for line in path.read_text().splitlines():
        if line.startswith(("# Run time:", "# Tests:")):
            part = line.removeprefix("# ")
        elif line and not line.startswith("#"):
            parts.setdefault(part, []).append(Requirement(line))
    return parts


def needed_by(roots: Iterable[Requirement]) -> tuple[dict[str, str], list[str]]:
    """Every installed package that the roots need, with its version; and what is needed but not installed."""
    versions: dict[str, str] = {}
    missing: list[str] = []
    seen: set[str] = set()
    waiting = list(roots)
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        if str(requirement) in seen:
            continue
        seen.add(str(requirement))
        try:
            found = distribution(name)
        except PackageNotFoundError:
            missing.append(name)
            continue
        versions[name] = found.version
        waiting += _wanted(found.requires or [], requirement.extras)
    return versions, missing


def _wanted(lines: Iterable[str], extras: set[str]) -> list[Requirement]:
    requirements = [Requirement(line) for line in lines]
    return [each for each in requirements if _applies(each, extras)]


def _applies(requirement: Requirement, extras: set[str]) -> bool:
    return requirement.marker is None or any(requirement.marker.evaluate({"extra": extra}) for extra in extras | {""})


def compare(title: str, roots: list[Requirement], pins: list[Requirement]) -> list[str]:
    """One line for each difference between what is pinned and what the roots need."""
    needed, missing = needed_by(roots)
    pinned: dict[str, str] = {canonicalize_name(pin.name): str(pin.specifier) for pin in pins if _applies(pin, set())}
    lines = [f"{title}: {name} is needed but not installed" for name in missing]
    lines += [f"{title}: {name} has no line; installed is {needed[name]}" for name in sorted(needed.keys() - pinned)]
    lines += [f"{title}: nothing needs {name}" for name in sorted(pinned.keys() - needed)]
    return lines + [
        f"{title}: {name} stands as {pinned[name]}; installed is {version}"
        for name, version in sorted(needed.items())
        if name in pinned and pinned[name] != f"=={version}"
    ]


def problems() -> list[str]:
    parts = read_requirements(ROOT / "requirements.txt")
    run_roots = read_requirements(ROOT / "deploy" / "requirements-run.txt")["Run time"]
    run_pins = [pin for part, pins in parts.items() if part.startswith("Run time") for pin in pins]
    test_roots = [pin for part, pins in parts.items() if part.startswith("Tests: what the tests") for pin in pins]
    every_pin = [pin for pins in parts.values() for pin in pins]
    lines = compare("Run time", run_roots, run_pins) + compare("Tests", [*run_roots, *test_roots], every_pin)
    unwanted = needed_by(Requirement(name) for name in UNWANTED)[0]
    return lines + [f"{name} is installed: {UNWANTED[name]}" for name in unwanted if name in UNWANTED]


if __name__ == "__main__":
    found = problems()
    print("\n".join(found) or "requirements.txt names what is needed, and only that.")
    sys.exit(bool(found))
