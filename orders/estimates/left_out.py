"""What is not estimated though it fits: herbicide without a mix, and a mix with a product that has no price. Neither is
priced as if it were free; the rest is estimated all the same."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from orders.estimates import convert
from orders.estimates.models import Method, RateBook
from orders.sites.models import Survey
from orders.supplies.selectors import product_prices

MIX, PRICE = "mix", "price"


@dataclass(frozen=True)
class LeftOut:
    """A method that was not estimated on some patches which it fits: what it lacks, and why in words."""

    method: str
    name: str
    lacks: str
    why: str
    patches: int

    def __str__(self) -> str:
        what, were = ("estimate", "was") if self.patches == 1 else ("estimates", "were")
        by_it = f" with {self.name}" if self.lacks == PRICE else ""
        return f"{self.why}: {self.patches:,} {what}{by_it} {were} not made."


def methods_lacking(listed: Iterable[Method], on: date) -> dict[str, tuple[str, str]]:
    """By the code of a method what it lacks on that day, and the same in words."""
    priced, found = product_prices(on), {}
    for method in listed:
        parts = method.default_mix.parts.all() if method.default_mix else ()
        bare = dict.fromkeys(part.product.name for part in parts if part.product.code not in priced)
        if method.uses_herbicide and method.default_mix is None:
            found[method.code] = (MIX, f"{method.name.capitalize()} uses herbicide and has no mix")
        elif bare:
            found[method.code] = (PRICE, f"{' and '.join(bare)} {'have' if len(bare) > 1 else 'has'} no price")
    return found


def left_out(
    surveys: Sequence[Survey],
    book: RateBook,
    lacking: Mapping[Method, tuple[str, str]],
    *,
    on: date,
    repeat_years: Mapping[int, int],
) -> tuple[LeftOut, ...]:
    """Each of these methods that the book has rates for, with the number of patches that it fits."""
    if not lacking:
        return ()
    jobs = convert.estimate_inputs(surveys, book, lacking, on=on, repeat_years=repeat_years).jobs
    counts = dict(zip(jobs.methods, np.bincount(jobs.method_index, minlength=len(jobs.methods)).tolist(), strict=True))
    return tuple(
        LeftOut(method.code, method.name, *told, patches=counts[method.code])
        for method, told in lacking.items()
        if counts.get(method.code)
    )


def left_out_summed(some: Iterable[LeftOut]) -> list[LeftOut]:
    """Those of one method and reason as one."""
    found: dict[tuple[str, str, str, str], int] = {}
    for one in some:
        key = (one.method, one.name, one.lacks, one.why)
        found[key] = found.get(key, 0) + one.patches
    return [LeftOut(*key, patches=patches) for key, patches in found.items()]
