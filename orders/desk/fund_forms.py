"""What may be typed about funds, budgets, rules of who pays, awards and their terms, and charges that wait."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms

from orders.costs.fund_selectors import CATEGORY_NAMES
from orders.costs.selectors import award_get, fund_get, funds
from orders.costs.services.awards import RULESETS, Ruleset
from orders.costs.services.entries import Payer
from orders.desk.site_forms import day_field
from orders.estimates.selectors import methods
from orders.sites.selectors import site_get, sites

CENTS = Decimal(100)
PERCENT_E4 = Decimal(100)  # 1/10,000 in a percent
SHARES = 5
ALL = [("", "All of them")]
CATEGORIES = list(CATEGORY_NAMES.items())
BASES = [
    ("mtdc", "Modified total direct costs"),
    ("direct", "All direct costs"),
    ("salaries", "Salaries and wages"),
    ("none", "No indirect costs"),
]
OWN = "own"


def dollars(label: str, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(label=f"{label}, $", min_value=0, max_digits=13, decimal_places=2, **more)


def percent(label: str, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(label=f"{label}, %", min_value=0, max_value=100, decimal_places=2, **more)


def payer_choices() -> list[tuple[str, str]]:
    """Funds that pay, and each award under the fund that pays through it."""
    listed = []
    for fund in funds():
        if not fund.is_suspense:
            listed.append((str(fund.public_id), f"{fund.code} {fund.name}"))
            awards = sorted(fund.awards.all(), key=lambda award: award.code)
            listed += [(f"{fund.public_id}/{one.public_id}", f"{fund.code} / {one.code} {one.name}") for one in awards]
    return listed


def payer_of(text: str, share_e4: int = 10_000) -> Payer:
    fund, _, award = text.partition("/")
    return Payer(fund_get(UUID(fund)), award_get(UUID(award)) if award else None, share_e4)


class FundNewForm(forms.Form):
    code = forms.CharField(max_length=20, label="Code", help_text="As the books have it, such as CITY.")
    name = forms.CharField(max_length=120, label="Name")
    budget = dollars("Budget", required=False, help_text="Empty: nothing limits it.")

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        budget = told["budget"]
        cents = None if budget is None else int(budget * CENTS)
        return {"code": told["code"], "name": told["name"], "budget_cents": cents}


class AwardNewForm(forms.Form):
    code = forms.CharField(max_length=30, label="Number of the award")
    name = forms.CharField(max_length=120, label="Name")
    first_day = day_field("First day of performance")
    last_day = day_field("Last day of performance")
    ceiling = dollars("Ceiling")

    def values(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        ceiling_cents = int(told.pop("ceiling") * CENTS)
        return {**told, "ceiling_cents": ceiling_cents}


class FundEditForm(forms.Form):
    name = forms.CharField(max_length=120, label="Name")
    budget = dollars("Budget", required=False, help_text="Empty: nothing limits it.")
    version = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, fund: Any) -> "FundEditForm":
        budget = None if fund.budget_cents is None else fund.budget_cents / CENTS
        return cls(initial={"name": fund.name, "budget": budget, "version": fund.version})

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        budget = told["budget"]
        return {"name": told["name"], "budget_cents": None if budget is None else int(budget * CENTS)}


class BudgetForm(forms.Form):
    """A budget of one fund. An empty field means all of them."""

    award = forms.ChoiceField(required=False, label="Award")
    site = forms.ChoiceField(required=False, label="Site")
    category = forms.ChoiceField(required=False, label="Category", choices=ALL + CATEGORIES)
    month = forms.CharField(
        required=False,
        label="Posting month",
        widget=forms.TextInput(attrs={"type": "month", "placeholder": "2027-03"}),
    )
    amount = dollars("May be spent")
    note = forms.CharField(max_length=200, required=False, label="Note")

    def __init__(self, *args: Any, fund: Any, budget: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        awards = [(str(one.public_id), f"{one.code} {one.name}") for one in fund.awards.order_by("code")]
        places = [(str(one.public_id), f"{one.code} {one.name}") for one in sites()]
        self.fields["award"] = forms.ChoiceField(required=False, label="Award", choices=ALL + awards)
        self.fields["site"] = forms.ChoiceField(required=False, label="Site", choices=ALL + places)
        if budget is not None:
            self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, budget: Any) -> "BudgetForm":
        stands = {
            "award": str(budget.award.public_id) if budget.award else "",
            "site": str(budget.site.public_id) if budget.site else "",
            "category": budget.category,
            "month": f"{budget.month:%Y-%m}" if budget.month else "",
            "amount": budget.amount_cents / CENTS,
            "note": budget.note,
            "version": budget.version,
        }
        return cls(fund=budget.fund, budget=budget, initial=stands)

    def clean_month(self) -> date | None:
        typed = self.cleaned_data["month"]
        try:
            return date.fromisoformat(f"{typed}-01") if typed else None
        except ValueError as error:
            raise forms.ValidationError("Must be a month such as 2027-03.") from error

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        return {
            "award": award_get(UUID(told["award"])) if told["award"] else None,
            "site": site_get(UUID(told["site"])) if told["site"] else None,
            "category": told["category"],
            "month": told["month"],
            "amount_cents": int(told["amount"] * CENTS),
            "note": told["note"],
        }


class BudgetFileForm(forms.Form):
    file = forms.FileField(label="Budgets as CSV", help_text="fund, award, site, category, month, amount, note")


class SharesForm(forms.Form):
    """Payers and their shares in percent, some rows of them."""

    def payers_ask(self) -> None:
        payers = [("", "Nobody"), *payer_choices()]
        for number in range(1, SHARES + 1):
            self.fields[f"payer_{number}"] = forms.ChoiceField(required=False, label=f"Payer {number}", choices=payers)
            self.fields[f"share_{number}"] = percent(f"Share {number}", required=False)

    def shares(self) -> list[Payer]:
        told = self.cleaned_data
        numbers = [number for number in range(1, SHARES + 1) if told[f"payer_{number}"]]
        return [
            payer_of(told[f"payer_{number}"], int((told[f"share_{number}"] or 0) * PERCENT_E4)) for number in numbers
        ]


def shares_stand(rows: Iterable[Any]) -> dict[str, Any]:
    """What the form says of shares that stand."""
    stands: dict[str, Any] = {}
    for number, row in enumerate(rows, start=1):
        award = f"/{row.award.public_id}" if row.award else ""
        stands[f"payer_{number}"] = f"{row.fund.public_id}{award}"
        stands[f"share_{number}"] = row.share_e4 / PERCENT_E4
    return stands


class OrderSplitForm(SharesForm):
    """Who pays one order. Once it was issued, the reason is kept with every row that moves."""

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.payers_ask()
        if needs_reason:
            self.fields["reason"] = forms.CharField(max_length=300, label="Why")
        self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)


class RuleForm(SharesForm):
    """Who pays what no hand has split; shares in percent."""

    name = forms.CharField(max_length=80, label="Name")
    from_day = day_field("From")
    last_day = forms.DateField(required=False, label="Until", widget=forms.DateInput(attrs={"type": "date"}))
    work_code = forms.CharField(
        max_length=10, required=False, label="Code of paid time", help_text="Shop, training… Empty: orders too."
    )

    def __init__(self, *args: Any, rule: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = [(str(one.public_id), f"{one.code} {one.name}") for one in sites()]
        kinds = list(methods().values_list("code", "name"))
        self.fields["site"] = forms.ChoiceField(required=False, label="Orders of site", choices=ALL + places)
        self.fields["method_code"] = forms.ChoiceField(required=False, label="Orders of method", choices=ALL + kinds)
        self.payers_ask()
        if rule is not None:
            self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def first_of_all(cls) -> dict[str, Any]:
        """What a program with one payer begins with: that one pays for everything."""
        payers = payer_choices()
        named = {"payer_1": payers[0][0], "share_1": 100} if len(payers) == 1 else {}
        return {"name": "Everything", **named}

    @classmethod
    def of(cls, rule: Any) -> "RuleForm":
        stands: dict[str, Any] = {
            name: getattr(rule, name)
            for name in ("name", "from_day", "last_day", "work_code", "method_code", "version")
        }
        stands["site"] = str(rule.site.public_id) if rule.site else ""
        return cls(rule=rule, initial=stands | shares_stand(rule.shares.all()))

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        plain = {name: told[name] for name in ("name", "from_day", "last_day", "work_code", "method_code")}
        return {**plain, "site": site_get(UUID(told["site"])) if told["site"] else None}


class AwardEditForm(forms.Form):
    name = forms.CharField(max_length=120, label="Name")
    last_day = day_field("Last day of performance")
    ceiling = dollars("Ceiling")
    version = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, award: Any) -> "AwardEditForm":
        ceiling = award.ceiling_cents / CENTS
        told = {"name": award.name, "last_day": award.last_day, "ceiling": ceiling, "version": award.version}
        return cls(initial=told)

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        return {"name": told["name"], "last_day": told["last_day"], "ceiling_cents": int(told["ceiling"] * CENTS)}


class TermForm(forms.Form):
    """Terms from a day on; a ruleset fills in figures, which may be typed over."""

    from_day = day_field("Hold from")
    ruleset = forms.ChoiceField(
        label="Figures of", choices=[*((one.code, one.name) for one in RULESETS), (OWN, "The funder's own")]
    )
    indirect = percent("Indirect rate", initial=0)
    indirect_base = forms.ChoiceField(label="Of", choices=BASES, initial="none")
    subaward_cap = dollars("Of each subaward, over its whole period, at most", initial=50_000)
    equipment_threshold = dollars("Equipment stays outside from", initial=10_000)
    match = percent("Match, of what the award pays", initial=0)
    match_amount = dollars("Or at least", initial=0)
    allowed = forms.MultipleChoiceField(
        required=False,
        label="Allowed categories",
        choices=CATEGORIES,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all.",
    )
    at_charge = forms.ChoiceField(
        label="A bill or purchase that the award may not take",
        choices=[("queue", "waits for finance"), ("refuse", "is refused")],
    )
    source = forms.CharField(max_length=200, label="Source", help_text="The letter of award, a page of the rules.")

    @classmethod
    def prefilled(cls, code: str) -> "TermForm":
        figures = next((one for one in RULESETS if one.code == code), None)
        return cls(initial=_prefill(figures) if figures else {"ruleset": OWN})

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        figures = {
            "indirect_e4": int(told["indirect"] * PERCENT_E4),
            "match_e4": int(told["match"] * PERCENT_E4),
            "subaward_cap_cents": int(told["subaward_cap"] * CENTS),
            "equipment_threshold_cents": int(told["equipment_threshold"] * CENTS),
            "match_cents": int(told["match_amount"] * CENTS),
        }
        plain = {name: told[name] for name in ("from_day", "ruleset", "indirect_base", "at_charge", "source")}
        return {**plain, "figures": figures, "allowed_categories": told["allowed"]}


def _prefill(figures: Ruleset) -> dict[str, Any]:
    return {
        "ruleset": figures.code,
        "indirect": figures.indirect_e4 / PERCENT_E4,
        "indirect_base": figures.indirect_base,
        "subaward_cap": figures.subaward_cap_cents / CENTS,
        "equipment_threshold": figures.equipment_threshold_cents / CENTS,
        "source": figures.source,
    }


class SettleForm(forms.Form):
    """Who pays what was ticked, and why."""

    payer = forms.ChoiceField(label="Who pays")
    reason = forms.CharField(max_length=200, label="Why")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["payer"] = forms.ChoiceField(label="Who pays", choices=[("", "Choose"), *payer_choices()])
        self.order_fields(["payer", "reason"])


class HeldAskForm(forms.Form):
    state = forms.ChoiceField(
        required=False, choices=[("", "Waiting"), ("settled", "Settled"), ("gone", "Taken back before")]
    )
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)
