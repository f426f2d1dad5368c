"""Reads of funds, awards and their terms, rules, budgets, and of charges that wait for finance."""

from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.costs.models import CATEGORIES, Award, AwardTerm, Budget, Fund, FundingRule, HeldCharge, LedgerEntry
from orders.costs.selectors import costs_open_to

# how the posting key of a row ends that stands in suspense in place of the payer that was meant
HELD_KEY = r":held(:again)*$"
CATEGORY_NAMES = dict(CATEGORIES)


def award_term(award: Award, on: date) -> AwardTerm | None:
    """The newest row that has begun."""
    return AwardTerm.objects.filter(award=award, from_day__lte=on).order_by("-from_day").first()


def award_terms(actor: User) -> QuerySet[AwardTerm]:
    costs_open_to(actor)
    return AwardTerm.objects.select_related("award").order_by("award__code", "-from_day", "id")


def award_seen(actor: User, award_id: UUID) -> Award:
    costs_open_to(actor)
    found = Award.objects.select_related("fund").filter(public_id=award_id).first()
    if found is None:
        raise NotFound("There is no such award.")
    return found


def fund_seen(actor: User, fund_id: UUID) -> Fund:
    costs_open_to(actor)
    found = Fund.objects.filter(public_id=fund_id).first()
    if found is None:
        raise NotFound("There is no such fund.")
    return found


def funding_rules(actor: User) -> QuerySet[FundingRule]:
    costs_open_to(actor)
    rules = FundingRule.objects.select_related("site").prefetch_related("shares__fund", "shares__award")
    return rules.order_by("-from_day", "id")


def says_who_pays() -> bool:
    """Whether there is a rule at all; what it says stays with finance."""
    return FundingRule.objects.exists()


def funding_rule_get(actor: User, rule_id: UUID) -> FundingRule:
    found = funding_rules(actor).filter(public_id=rule_id).first()
    if found is None:
        raise NotFound("There is no such funding rule.")
    return found


def budgets(actor: User) -> QuerySet[Budget]:
    costs_open_to(actor)
    order = "fund__code", "award__code", "site__code", "category", "month", "id"
    return Budget.objects.select_related("fund", "award", "site").order_by(*order)


def budget_get(actor: User, budget_id: UUID) -> Budget:
    found = budgets(actor).filter(public_id=budget_id).first()
    if found is None:
        raise NotFound("There is no such budget.")
    return found


def held_charges(actor: User) -> QuerySet[HeldCharge]:
    """The oldest first: what waits longest is the first to settle."""
    costs_open_to(actor)
    related = "fund", "award", "order", "person", "settled_fund", "settled_award", "settled_by"
    return HeldCharge.objects.select_related(*related).order_by("raised_at", "id")


def held_charge_get(actor: User, held_id: UUID) -> HeldCharge:
    found = held_charges(actor).filter(public_id=held_id).first()
    if found is None:
        raise NotFound("There is no such held charge.")
    return found


def held_rows_standing(held: HeldCharge) -> QuerySet[LedgerEntry]:
    """Its rows in suspense: of its source and revision, with the payer that was meant in their keys."""
    rows = LedgerEntry.objects.filter(source_kind=held.source_kind, source_id=held.source_id, revision=held.revision)
    meant = f":{held.fund_id}:{held.award_id or ''}:held"
    rows = rows.filter(book="cost", fund__is_suspense=True, posting_key__contains=meant, posting_key__regex=HELD_KEY)
    return rows.filter(reverses__isnull=True, reversed_by__isnull=True).order_by("id")


def budget_name(budget: Budget) -> str:
    """In people's words: the fund or award, and what of it."""
    whose = budget.award.code if budget.award else budget.fund.code
    of = [budget.site.code if budget.site else "", CATEGORY_NAMES.get(budget.category, "").lower()]
    of.append(f"{budget.month:%B %Y}" if budget.month else "")
    return ", ".join([whose, *(word for word in of if word)])
