"""The same figures are drawn once in a process: drawing takes longer than all else on a page."""

import hashlib
import pickle
from collections.abc import Callable, Mapping
from functools import lru_cache, wraps
from typing import Any, ParamSpec

from orders.desk.chart_svg import Chart

KEPT = 256
Asked = ParamSpec("Asked")


class _Figures:
    """What a picture is drawn from; alike where all of it is alike."""

    def __init__(self, args: tuple[Any, ...], named: Mapping[str, Any]) -> None:
        self.args, self.named = args, named
        self.mark = hashlib.sha256(pickle.dumps((args, sorted(named.items())))).digest()

    def __hash__(self) -> int:
        return hash(self.mark)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Figures) and self.mark == other.mark


@lru_cache(maxsize=KEPT)
def _drawn(draw: Callable[..., Chart], figures: _Figures) -> Chart:
    return draw(*figures.args, **figures.named)


def drawn_once(draw: Callable[Asked, Chart]) -> Callable[Asked, Chart]:
    """For a function that draws the same from the same figures, which can be pickled."""

    @wraps(draw)
    def kept(*args: Asked.args, **named: Asked.kwargs) -> Chart:
        return _drawn(draw, _Figures(args, named))

    return kept
