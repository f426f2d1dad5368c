"""What is known of the pictures that were taken: their size and a digest of what stood on the page."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

MANIFEST = Path(__file__).with_name("pictures.json")


@dataclass(frozen=True)
class Taken:
    """A picture as the script kept it; `file` is its name among the static files."""

    file: str
    width: int
    height: int


@cache
def pictures_taken() -> Mapping[str, Taken]:
    if not MANIFEST.exists():
        return {}
    told = json.loads(MANIFEST.read_text(encoding="utf-8"))
    return {name: Taken(f"desk/guide/{name}.webp", row["width"], row["height"]) for name, row in told.items()}
