"""Mix cards of an order: how much of each mix its work needs, and what goes into each tank load."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from estimating.materials import Mix, MixLine, mix_card, tank_loads
from estimating.mix_order import liquid_text, poured
from estimating.mix_words import WORDS
from orders.estimates.models import Estimate
from orders.estimates.rebuilt import mix_rebuilt


@dataclass(frozen=True)
class MixOf:
    """The mix of an estimate as it was frozen with it."""

    mix_id: UUID
    code: str
    name: str
    frozen: Mix


def mixes_of(estimates: set[int]) -> dict[int, MixOf]:
    """By the estimate's key; those without a mix are left out. Of the frozen inputs only the mix is read."""
    rows = Estimate.objects.filter(pk__in=estimates, mix__isnull=False).order_by("pk")
    columns = ("pk", "mix__public_id", "mix__code", "mix__name", "inputs__mix")
    return {
        key: MixOf(mix_id, code, name, mix_rebuilt(frozen))
        for key, mix_id, code, name, frozen in rows.values_list(*columns)
        if frozen
    }


def mix_shown(mix: MixOf, needed_l: float, names: Mapping[str, str]) -> dict[str, Any]:
    """`names` of products by their codes: crews know those."""
    frozen = mix.frozen
    named = replace(
        frozen, parts=tuple(replace(part, product=names.get(part.product, part.product)) for part in frozen.parts)
    )
    return {
        "id": str(mix.mix_id),
        "code": mix.code,
        "name": mix.name,
        "by": "area" if frozen.carrier_l_per_ha is not None else "stem",
        "carrier": mix_card(frozen, needed_l).carrier,
        "tank_l": frozen.tank_l,
        "needed_l": needed_l,
        "loads": [_load(number, frozen, named, volume_l) for number, volume_l in _loads(needed_l, frozen.tank_l)],
        "parts": [
            {
                "product": part.product,
                "name": shown.product,
                "part": part.role,
                "percent_vv": part.percent_vv,
                "rate_l_per_ha": part.rate_l_per_ha,
            }
            for part, shown in zip(frozen.parts, named.parts, strict=True)
        ],
    }


def _loads(needed_l: float, tank_l: float) -> Iterator[tuple[int, float]]:
    found = tank_loads(needed_l, tank_l)
    for number in range(1, found.loads + 1):
        yield number, (tank_l if number <= found.full else found.last_l)


def _load(number: int, frozen: Mix, named: Mix, volume_l: float) -> dict[str, Any]:
    """The card of this load alone; how it is mixed in each language of the tablet."""
    cards = {language: mix_card(named, volume_l, words) for language, words in WORDS.items()}
    card = cards["en"]
    codes = [part.product for part in frozen.parts]
    return {
        "number": number,
        "volume_l": volume_l,
        "rows": [_row(code, line) for code, line in zip(codes, card.lines, strict=True)],
        "order_of_mixing": {language: list(told.steps) for language, told in cards.items()},
        "cautions": {language: list(told.cautions) for language, told in cards.items()},
    }


def _row(code: str, line: MixLine) -> dict[str, Any]:
    amount, unit = poured(line.total_ml)
    told = {"amount": amount, "unit": unit, "shown": liquid_text(line.total_ml)}
    return {"product": code, "name": line.product, "part": line.role, **told}
