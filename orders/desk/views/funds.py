"""Funds with what is left of them, their budgets, and the rules of who pays."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.budget_csv import budgets_csv, budgets_read
from orders.costs.fund_selectors import budget_get, budget_name, budgets, fund_seen, funding_rule_get, funding_rules
from orders.costs.services import award_add, fund_add
from orders.costs.services.awards import fund_edit
from orders.costs.services.budgets import budget_add, budget_edit, budget_remove, budgets_load
from orders.costs.services.funding import funding_rule_add, funding_rule_edit, funding_rule_remove
from orders.costs.spending import left_to_spend
from orders.desk.columns import Sortable
from orders.desk.fund_forms import AwardNewForm, BudgetFileForm, BudgetForm, FundEditForm, FundNewForm, RuleForm
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.money_list_rows import AWARDS, FUNDING_RULES, FUNDS
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.season_forms import RemoveForm
from orders.desk.views.pages import page, tried

form_page = require_http_methods(["GET", "HEAD", "POST"])
MOST_BYTES = 1_000_000
SPENT = {
    "spent": Sortable("Spent", "actual_cents", is_number=True),
    "committed": Sortable("Committed", "committed_cents", is_number=True),
    "left": Sortable("Left", "left_cents", is_number=True),
    "used": Sortable("Used", "used_percent"),
}
FUND_COLUMNS = {
    "name": Sortable("Fund", "name"),
    "limit": Sortable("Budget", "limit_cents", is_number=True),
    **SPENT,
}
AWARD_COLUMNS = {
    "name": Sortable("Award", "name"),
    "limit": Sortable("Ceiling", "limit_cents", is_number=True),
    **SPENT,
}
RULE_COLUMNS = {
    "name": Sortable("Rule", "name"),
    "fits": Sortable("Fits"),
    "from": Sortable("Days", "from_day"),
    "pays": Sortable("Who pays"),
}


def may(actor: User) -> None:
    page_opens_to(actor, MONEY, "The pages of funds and awards")


def stamped(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


@dataclass(frozen=True)
class FormPage:
    """A page with one form: where it lies, what its button says, and where it goes when it is done."""

    title: str
    button: str
    back: str  # an address
    back_words: str
    about: str = ""
    save: str = ""  # an address; the page's own where it is empty
    remove: str = ""  # an address


def form_shown(
    request: HttpRequest, words: FormPage, form: Any, refusal: Refusal | None, removing: Any = None
) -> HttpResponse:
    told = {"words": words, "form": form, "refusal": refusal, "removing": removing}
    wrong = any(one is not None and one.is_bound and not one.is_valid() for one in (form, removing))
    status = refusal.status if refusal else 400 if wrong else 200
    return render(request, "desk/fund_form.html", told, status=status)


def form_done(request: HttpRequest, words: FormPage, form: forms.Form, write: Callable[[], str]) -> HttpResponse:
    """A form page's whole course: shown, refused, or written and told; `write` returns what is told then."""
    refusal = None
    if form.is_bound and form.is_valid():
        told: list[str] = []
        refusal = tried(lambda: told.append(write()))
        if refusal is None:
            messages.success(request, told[0])
            return redirect(words.back)
    return form_shown(request, words, form, refusal)


@require_safe
@page
def funds_page(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    rows = left_to_spend(actor)
    funds = lines_sorted(request, [row for row in rows if row.kind == "fund"], FUND_COLUMNS, "")
    awards = lines_sorted(request, [row for row in rows if row.kind == "award"], AWARD_COLUMNS, "", "awards_")
    rules = rows_sorted(request, funding_rules(actor), RULE_COLUMNS, "-from", "rules_")
    for which, file, listed in (("csv", FUNDS, funds), ("awards", AWARDS, awards), ("rules", FUNDING_RULES, rules)):
        if file_asked(request, which):
            return file.reply(listed.found)
    return render(request, "desk/funds.html", {"funds": funds, "awards": awards, "rules": rules})


@require_safe
@page
def fund_page(request: HttpRequest, actor: User, fund_id: UUID) -> HttpResponse:
    may(actor)
    fund = fund_seen(actor, fund_id)
    rows = left_to_spend(actor, fund=fund)
    told = {
        "fund": fund,
        "row": rows[0],
        "awards": [row for row in rows if row.kind == "award"],
        "budgets": [row for row in rows if row.kind == "budget"],
        "rules": funding_rules(actor).filter(shares__fund=fund).distinct(),
    }
    return render(request, "desk/fund.html", told)


def _fund_page(fund: Any, title: str, button: str, **more: Any) -> FormPage:
    return FormPage(title, button, reverse("money-fund", args=[fund.public_id]), fund.name, **more)


@form_page
@page
def fund_new(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    form = FundNewForm(request.POST or None)

    def write() -> str:
        fund = fund_add(**form.values(), stamp=stamped(actor))
        return f"{fund.code} is added."

    words = FormPage("A new fund", "Add the fund", reverse("money-funds"), "Funds")
    return form_done(request, words, form, write)


@form_page
@page
def award_new(request: HttpRequest, actor: User, fund_id: UUID) -> HttpResponse:
    may(actor)
    fund = fund_seen(actor, fund_id)
    form = AwardNewForm(request.POST or None)

    def write() -> str:
        award = award_add(fund=fund, **form.values(), stamp=stamped(actor))
        return f"{award.code} is added. Now add its terms."

    about = "Nothing of a day outside its period is ever charged to it, and never more than its ceiling."
    return form_done(request, _fund_page(fund, "A new award", "Add the award", about=about), form, write)


@form_page
@page
def fund_edited(request: HttpRequest, actor: User, fund_id: UUID) -> HttpResponse:
    may(actor)
    fund = fund_seen(actor, fund_id)
    form = FundEditForm(request.POST) if request.method == "POST" else FundEditForm.of(fund)

    def write() -> str:
        expected = form.cleaned_data["version"]
        fund_edit(fund=fund, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{fund.code} is changed."

    return form_done(request, _fund_page(fund, f"Change {fund.name}", "Change the fund"), form, write)


@form_page
@page
def budget_new(request: HttpRequest, actor: User, fund_id: UUID) -> HttpResponse:
    may(actor)
    fund = fund_seen(actor, fund_id)
    form = BudgetForm(request.POST or None, fund=fund)

    def write() -> str:
        budget_add(fund=fund, **form.values(), stamp=stamped(actor))
        return "The budget is added."

    about = "An empty field means all of them. What passes a budget waits for finance."
    return form_done(request, _fund_page(fund, "A new budget", "Add the budget", about=about), form, write)


@form_page
@page
def budget_page(request: HttpRequest, actor: User, budget_id: UUID) -> HttpResponse:
    may(actor)
    budget = budget_get(actor, budget_id)
    words = _budget_words(budget)
    if request.method != "POST":
        removing = RemoveForm(initial={"version": budget.version})
        return form_shown(request, words, BudgetForm.of(budget), None, removing)
    form = BudgetForm(request.POST, fund=budget.fund, budget=budget)

    def write() -> str:
        expected = form.cleaned_data["version"]
        budget_edit(budget=budget, values=form.values(), expected=expected, stamp=stamped(actor))
        return "The budget is changed."

    return form_done(request, words, form, write)


def _budget_words(budget: Any) -> FormPage:
    named = [budget.public_id]
    where = {"save": reverse("money-budget", args=named), "remove": reverse("money-budget-remove", args=named)}
    return _fund_page(budget.fund, f"Budget of {budget_name(budget)}", "Change the budget", **where)


@require_POST
@page
def budget_removed(request: HttpRequest, actor: User, budget_id: UUID) -> HttpResponse:
    may(actor)
    budget, removing = budget_get(actor, budget_id), RemoveForm(request.POST)
    words, refusal = _budget_words(budget), None
    if removing.is_valid():
        told = removing.cleaned_data
        refusal = tried(
            lambda: budget_remove(budget=budget, expected=told["version"], stamp=stamped(actor, told["reason"]))
        )
        if refusal is None:
            messages.success(request, "The budget is removed.")
            return redirect(words.back)
    return form_shown(request, words, BudgetForm.of(budget), refusal, removing)


@require_safe
@page
def budget_file(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    named = {"Content-Disposition": 'attachment; filename="budgets.csv"'}
    text = budgets_csv(budgets(actor))
    return HttpResponse(text, content_type="text/csv; charset=utf-8; header=present", headers=named)


@form_page
@page
def budget_file_taken(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    form = BudgetFileForm(request.POST, request.FILES) if request.method == "POST" else BudgetFileForm()
    about = "Rows of the same fund, award, site, category and month are changed, others added. All of it or nothing."
    words = FormPage("Budgets from a file", "Load the file", reverse("money-funds"), "Funds", about=about)

    def write() -> str:
        loaded = budgets_load(lines=budgets_read(_text(form.cleaned_data["file"])), stamp=stamped(actor))
        return f"{len(loaded)} budgets are loaded."

    return form_done(request, words, form, write)


def _text(file: Any) -> str:
    if file.size > MOST_BYTES:
        raise Invalid("The file is too large.", [FieldError("file", f"At most {MOST_BYTES:,} bytes.")])
    try:
        return str(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise Invalid("The file is no text.", [FieldError("file", "It is not UTF-8. Save it as CSV UTF-8.")]) from error


@form_page
@page
def rule_new(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    today = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    usual = {} if funding_rules(actor).exists() else RuleForm.first_of_all()
    form = RuleForm(request.POST or None, initial={"from_day": today, **usual})

    def write() -> str:
        funding_rule_add(**form.values(), shares=form.shares(), stamp=stamped(actor))
        return "The rule is added. It holds for what is posted from now on."

    return form_done(request, _rule_words("A new rule of who pays", "Add the rule"), form, write)


def _rule_words(title: str, button: str, rule: Any = None) -> FormPage:
    about = (
        "It pays for what no hand has split: orders by site or method, and paid time that is no order. Of several "
        "rules that fit, the one that says most counts, then the newest. The shares add up to 100%."
    )
    named = [rule.public_id] if rule else []
    save, remove = (reverse("money-rule", args=named), reverse("money-rule-remove", args=named)) if rule else ("", "")
    back = reverse("money-funds")
    return FormPage(title, button, back, "Funds", about=about, save=save, remove=remove)


@form_page
@page
def rule_page(request: HttpRequest, actor: User, rule_id: UUID) -> HttpResponse:
    may(actor)
    rule = funding_rule_get(actor, rule_id)
    words = _rule_words(rule.name, "Change the rule", rule)
    if request.method != "POST":
        return form_shown(request, words, RuleForm.of(rule), None, RemoveForm(initial={"version": rule.version}))
    form = RuleForm(request.POST, rule=rule)

    def write() -> str:
        expected, shares = form.cleaned_data["version"], form.shares()
        funding_rule_edit(rule=rule, values=form.values(), shares=shares, expected=expected, stamp=stamped(actor))
        return "The rule is changed. What was posted by it stays."

    return form_done(request, words, form, write)


@require_POST
@page
def rule_removed(request: HttpRequest, actor: User, rule_id: UUID) -> HttpResponse:
    may(actor)
    rule, removing = funding_rule_get(actor, rule_id), RemoveForm(request.POST)
    words, refusal = _rule_words(rule.name, "Change the rule", rule), None
    if removing.is_valid():
        told = removing.cleaned_data
        refusal = tried(
            lambda: funding_rule_remove(rule=rule, expected=told["version"], stamp=stamped(actor, told["reason"]))
        )
        if refusal is None:
            messages.success(request, "The rule is removed.")
            return redirect(words.back)
    return form_shown(request, words, RuleForm.of(rule), refusal, removing)
