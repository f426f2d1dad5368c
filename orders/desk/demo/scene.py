"""Who acts in the walk, when, and where each line goes."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import numpy as np
from django.conf import settings

from orders.common.models import User
from orders.common.stamp import Stamp

FOLDER: Path = settings.BASE_DIR / "fixtures" / "demo"
SEED = 20270104
Tell = Callable[[str], None]


@dataclass
class Walk:
    """Who acts, when, and where each line goes. Each stage tells a line when it is done."""

    tell: Tell
    random: np.random.Generator = field(default_factory=lambda: np.random.default_rng(SEED))
    at: datetime = field(default_factory=lambda: datetime.fromisoformat(str(_season_document()["clock"])))

    def user(self, username: str) -> User:
        return User.objects.get(username=username)

    def stamp(self, username: str, at: datetime | None = None, reason: str = "") -> Stamp:
        return Stamp(by=self.user(username), at=at or self.at, reason=reason)


def _season_document() -> dict[str, object]:
    return dict(json.loads((FOLDER / "season.json").read_text(encoding="utf-8")))
