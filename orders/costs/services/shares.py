"""Who pays an order, by the funds that its work is planned to be paid from."""

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from estimating.pricing import split_cents
from orders.costs.models import Award, Fund
from orders.costs.services.entries import WHOLE_E4, Payer


def fund_shares_planned(hours_by_fund: Mapping[str, float], first_day: date, last_day: date) -> list[Payer]:
    """Shares by planned hours, each with the fund's award that holds on all of the days.

    Empty, for a person to decide, where some of the work has no fund (code ""), where a fund is not known, or where
    none of its awards holds.
    """
    known = {fund.code: fund for fund in Fund.objects.filter(code__in=hours_by_fund).prefetch_related("awards")}
    if not hours_by_fund or set(hours_by_fund) - set(known):
        return []
    codes = sorted(code for code, hours in hours_by_fund.items() if hours > 0)
    parts = split_cents(WHOLE_E4, [Fraction(hours_by_fund[code]) for code in codes]) if codes else []
    shares = []
    for code, share_e4 in zip(codes, parts, strict=True):
        holds, award = _award(known[code], first_day, last_day)
        if not holds:
            return []
        if share_e4:
            shares.append(Payer(known[code], award, share_e4))
    return shares


def _award(fund: Fund, first_day: date, last_day: date) -> tuple[bool, Award | None]:
    """Whether the fund pays on these days, and through which award: of several, the one that ends first."""
    awards = sorted(fund.awards.all(), key=lambda award: (award.last_day, award.code))
    holding = [award for award in awards if award.first_day <= first_day and last_day <= award.last_day]
    return bool(holding) or not awards, holding[0] if holding else None
