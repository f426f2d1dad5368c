"""A map as columns of plain numbers: what a browser or another program reads. Coordinates are whole numbers, each but
the first as its difference from the one before, so that little has to be sent."""

from collections.abc import Iterable, Sequence
from typing import Any

from orders.reports.ground.picture import GroundPicture
from orders.sites.models import Patch

STEPS_PER_DEGREE = 100_000  # about a meter


def picture_columns(picture: GroundPicture, *, by_id: bool) -> dict[str, Any]:
    """`by_id`: patches by their public ids, for other programs; else by the numbers that the pages use."""
    rows = [one.row for one in picture.asked]
    sites = {code: at for at, code in enumerate(picture.sites)}
    boxes = [[round(edge * STEPS_PER_DEGREE) for edge in row.box] for row in rows]
    named = {"id": public_ids([row.n for row in rows])} if by_id else {"n": deltas(row.n for row in rows)}
    return {
        "by": picture.measure.code,
        "words": picture.measure.words,
        "classes": [
            {
                "key": one.kind.key,
                "words": one.kind.words,
                "look": one.kind.look,
                "count": one.count,
                "shown": one.is_shown,
            }
            for one in picture.legend
        ],
        "steps_per_degree": STEPS_PER_DEGREE,
        "sites": picture.sites,
        **named,
        "site": [sites[row.site] for row in rows],
        "code": [row.code for row in rows],
        "west": deltas(box[0] for box in boxes),
        "south": deltas(box[1] for box in boxes),
        "width": [box[2] - box[0] for box in boxes],
        "height": [box[3] - box[1] for box in boxes],
        "class": [one.at for one in picture.asked],
        "value": [_short(one.value) for one in picture.asked],
        **_told(picture),
    }


def public_ids(keys: Sequence[int]) -> list[str]:
    """In the order of the keys. All are read: ten thousand keys do not fit into a query."""
    known = dict(Patch.objects.order_by().values_list("pk", "public_id"))
    return [str(known[key]) for key in keys]


def deltas(values: Iterable[int]) -> list[int]:
    """Each as its difference from the one before; the first from 0."""
    found, before = [], 0
    for value in values:
        found.append(value - before)
        before = value
    return found


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _told(picture: GroundPicture) -> dict[str, Any]:
    """The words of each row, every wording once: many patches say the same."""
    words: dict[str, int] = {}
    places: Sequence[int] = [words.setdefault(one.told, len(words)) for one in picture.asked]
    return {"told": places, "told_words": list(words)}
