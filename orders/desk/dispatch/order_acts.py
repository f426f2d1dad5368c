"""What the office does with an order: each act with the states and roles that it is for, its form and its write."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict

from orders import corrections, flow
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.selectors import order_funding
from orders.costs.services.posting import order_fund, order_shares_by_rule
from orders.crews.models import Crew
from orders.crews.selectors import crew_get
from orders.desk.fund_forms import OrderSplitForm, shares_stand
from orders.desk.navigation import DESK, MONEY, SAFETY
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visit_get, order_visits
from orders.workorders.services import MOST_INSTRUCTIONS, order_instruct, order_override_add, visit_not_done

Sent = QueryDict | None


class WhyForm(forms.Form):
    reason = forms.CharField(max_length=200, label="Why")


class InstructForm(forms.Form):
    instructions = forms.CharField(
        max_length=MOST_INSTRUCTIONS,
        required=False,
        label="Instructions for the crew",
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="What no method says: the gate, the owner's wishes, what to leave alone.",
    )
    version = forms.IntegerField(widget=forms.HiddenInput)


class CrewForm(forms.Form):
    reason = forms.CharField(max_length=200, required=False, label="Why")

    def __init__(self, *args: Any, order: WorkOrder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = Crew.objects.filter(is_active=True).exclude(pk=order.crew_id).order_by("name")
        listed = [(str(crew.public_id), crew.name) for crew in others]
        self.fields["crew"] = forms.ChoiceField(choices=listed, label="To which crew")
        self.order_fields(["crew", "reason"])


class CallOffForm(WhyForm):
    def __init__(self, *args: Any, order: WorkOrder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = [
            (str(visit.public_id), f"{visit.day:%b} {visit.day.day}, {visit.day.year}")
            for visit in order_visits(order).filter(state="ordered")
        ]
        self.fields["visit"] = forms.ChoiceField(choices=listed, label="Which visit")
        self.order_fields(["visit", "reason"])


class OverrideForm(forms.Form):
    """Of one limit as the guard named it; mandatory ones are never offered, and refused if sent."""

    limit_kind = forms.CharField(max_length=16, widget=forms.HiddenInput)
    limit = forms.CharField(max_length=300, widget=forms.HiddenInput)
    reason = forms.CharField(max_length=300, label="Why it may pass")


@dataclass(frozen=True)
class Act:
    """`write` gives the words that are told when it is done."""

    code: str
    heading: str
    button: str
    states: frozenset[str]
    roles: frozenset[str]
    form: Callable[[WorkOrder, Sent], forms.Form]
    write: Callable[[WorkOrder, dict[str, Any], Stamp], str]
    about: str = ""

    def opens(self, actor: User, order: WorkOrder) -> bool:
        can_stand_again = order.state != "void" or order.issued_at is not None
        return order.state in self.states and actor.has_role(*self.roles) and can_stand_again


def _why_form(code: str) -> Callable[[WorkOrder, Sent], forms.Form]:
    return lambda order, sent: WhyForm(sent, auto_id=f"{code}_%s")


def _issue(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    flow.issue_order(order=order, stamp=stamp)
    return f"{order} is issued to {order.crew}."


def _instruct_form(order: WorkOrder, sent: Sent) -> forms.Form:
    return InstructForm(
        sent, auto_id="instruct_%s", initial={"instructions": order.instructions, "version": order.version}
    )


def _instruct(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    order_instruct(order=order, instructions=told["instructions"], expected=told["version"], stamp=stamp)
    return "The instructions are saved."


def _fund_form(order: WorkOrder, sent: Sent) -> forms.Form:
    stands = shares_stand(order_funding(order) or order_shares_by_rule(order))
    return OrderSplitForm(sent, auto_id="fund_%s", needs_reason=False, initial={**stands, "version": order.version})


def _reassign(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    crew = crew_get(UUID(told["crew"]))
    corrections.reassign_order(order=order, crew=crew, stamp=stamp.because(told["reason"]))
    return f"{order} is {crew}'s now."


def _call_off(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    visit = order_visit_get(order, UUID(told["visit"]))
    visit_not_done(order=order, visit=visit, stamp=stamp.because(told["reason"]))
    return "The visit is called off; its work waits for the close-out, or for another day."


def _override(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    kind, limit = told["limit_kind"], told["limit"]
    order_override_add(order=order, limit_kind=kind, limit=limit, stamp=stamp.because(told["reason"]))
    return "The limit is let pass, with your name and reason."


def _void(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    corrections.void_order(order=order, stamp=stamp.because(told["reason"]))
    return f"{order} is void; its work is asked for again."


def _restore(order: WorkOrder, told: dict[str, Any], stamp: Stamp) -> str:
    corrections.restore_order(order=order, stamp=stamp.because(told["reason"]))
    return f"{order} stands again."


def _states(*states: str) -> frozenset[str]:
    return frozenset(states)


VOIDING = "Nothing will be done on it: its visits fall away and their work is asked for again."
_ACTS = (
    Act("issue", "Issue it", "Issue it", _states("draft"), DESK, lambda order, sent: forms.Form(sent), _issue),
    Act("instruct", "Instructions", "Save them", _states("draft", "issued"), DESK, _instruct_form, _instruct),
    Act(
        "reassign",
        "Give it to another crew",
        "Give it to them",
        _states("draft", "issued"),
        DESK,
        lambda order, sent: CrewForm(sent, auto_id="reassign_%s", order=order),
        _reassign,
    ),
    Act(
        "call-off",
        "Call a visit off",
        "Call it off",
        _states("issued", "underway"),
        DESK,
        lambda order, sent: CallOffForm(sent, auto_id="call-off_%s", order=order),
        _call_off,
        about="Rain, a sick crew, a locked gate. The order stands.",
    ),
    Act(
        "void",
        "Void it",
        "Void it",
        _states("draft", "issued", "underway"),
        DESK,
        _why_form("void"),
        _void,
        about=VOIDING,
    ),
    Act(
        "restore",
        "Let it stand again",
        "Let it stand again",
        _states("void"),
        DESK,
        _why_form("restore"),
        _restore,
        about="Its crew worked on it before they heard. Refused where its work is planned otherwise by now.",
    ),
)
OVERRIDE = Act(
    "override",
    "Let a limit pass",
    "Let it pass",
    _states("draft", "issued"),
    SAFETY,
    lambda order, sent: OverrideForm(sent),
    _override,
)
FUND = Act(
    "fund",
    "Who pays",
    "Save who pays",
    _states("draft"),
    DESK | MONEY,
    _fund_form,
    lambda order, told, stamp: "",
    about="The shares add up to 100%. They are fixed when the order is issued.",
)
ACTS = {act.code: act for act in (*_ACTS, OVERRIDE, FUND)}
LISTED = tuple(act for act in (*_ACTS[1:2], FUND, *_ACTS[2:]))


def act_done(act: Act, order: WorkOrder, form: Any, stamp: Stamp) -> str:
    """The write of an act; who pays is read from its form as a whole."""
    if act is not FUND:
        return act.write(order, form.cleaned_data, stamp)
    order_fund(order=order, shares=form.shares(), expected=form.cleaned_data["version"], stamp=stamp)
    return "Who pays is saved."


@dataclass(frozen=True)
class ActShown:
    """An act on the page of its order; one that was tried stays open, with what refused it."""

    act: Act
    form: forms.Form
    refusal: Refusal | None = None

    @property
    def is_open(self) -> bool:
        return self.form.is_bound


def acts_shown(actor: User, order: WorkOrder, tried: ActShown | None = None) -> list[ActShown]:
    return [
        tried if tried is not None and tried.act is act else ActShown(act, act.form(order, None))
        for act in LISTED
        if act.opens(actor, order)
    ]
