"""Months of posting, closed and reopened by two people; the proofs that they rest on. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Day, Text, Whole
from orders.costs.month_selectors import period_get, periods, proof_get, proofs
from orders.costs.services.periods import (
    Outsider,
    period_close_ask,
    period_close_confirm,
    period_reopen_ask,
    period_reopen_confirm,
    period_withdraw,
)
from orders.costs.services.proof import Looked, proof_keep, proof_look

STATES = [("open", "Open"), ("closing", "Asked to be closed"), ("closed", "Closed"), ("reopening", "Asked to reopen")]


class PeriodStepOut(Row):
    kind = serializers.CharField()
    by = UserRef(allow_null=True)
    outside_name = serializers.CharField()
    outside_organization = serializers.CharField()
    outside_how = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField()


class PeriodOut(VersionedRow):
    month = serializers.DateField(source="first_day", help_text="Its first day.")
    state = serializers.ChoiceField(STATES)
    balances = serializers.DictField(
        child=serializers.IntegerField(), help_text="By account, in cents, as it was closed; empty while it is open."
    )
    rows_count = serializers.IntegerField()
    rows_sha256 = serializers.CharField()
    closed_at = serializers.DateTimeField(allow_null=True)
    steps = PeriodStepOut(many=True)


class PeriodIn(Body):
    month = Day(help_text="The first day of the month.")


class OutsiderIn(Body):
    name = Text(max_length=120)
    organization = Text(max_length=120)
    how = Text(max_length=200, help_text="How they agreed: a letter, a call, a meeting.")


class ConfirmIn(Body):
    version = Whole(help_text="As it was read.")
    outsider = OutsiderIn(required=False, help_text="The second person, where one desk asks and confirms.")


class PeriodAskIn(Because):
    version = Whole(help_text="As it was read.")
    reason = Text(max_length=300)


class PeriodVersionIn(Body):
    version = Whole(help_text="As it was read.")


class PeriodFilter(Filters):
    state = AnyOf(words=STATES)


class Periods(ListEndpoint):
    endpoint = "periods"
    row = PeriodOut
    filters = PeriodFilter
    sorts = {"month": "first_day"}
    usual_sort = "-month"

    def rows(self) -> QuerySet[Any]:
        """Months of posting that somebody has asked something of; any other is open."""
        return periods(self.actor)

    @writes(PeriodOut, body=PeriodIn, located_at="period")
    def post(self) -> Any:
        """Ask for a month to be closed.

        It is over, no earlier one with postings is open, and the newest proof is good and newer than every posting. It
        takes postings until another person confirms."""
        made = period_close_ask(month=self.body["month"], stamp=self.stamp())
        return period_get(self.actor, made.public_id)


class PeriodEndpoint(Endpoint):
    def period(self, period_id: Any) -> Any:
        return period_get(self.actor, period_id)

    def outsider(self) -> Outsider | None:
        told = self.body.get("outsider")
        return Outsider(**told) if told else None


class PeriodOne(PeriodEndpoint):
    endpoint = "period"

    @shows(PeriodOut)
    def get(self, period_id: Any) -> Any:
        """One month: its state, what it came to when it was closed, and who asked and agreed."""
        return self.period(period_id)


class PeriodCloseConfirm(PeriodEndpoint):
    endpoint = "period-confirm-close"

    @writes(PeriodOut, body=ConfirmIn, status=200, more_statuses=(412,))
    def post(self, period_id: Any) -> Any:
        """Close the month as the second person, or name somebody outside who agreed.

        From then on nothing is posted to it: what belongs to its days goes to the first month after it that is open."""
        period_close_confirm(
            period=self.period(period_id),
            outsider=self.outsider(),
            expected=self.body["version"],
            stamp=self.stamp(),
        )
        return self.period(period_id)


class PeriodReopenAsk(PeriodEndpoint):
    endpoint = "period-ask-reopen"

    @writes(PeriodOut, body=PeriodAskIn, status=200, more_statuses=(412,))
    def post(self, period_id: Any) -> Any:
        """Ask for the last closed month to be opened again, and say why."""
        stamp = self.stamp(self.body["reason"])
        period_reopen_ask(period=self.period(period_id), expected=self.body["version"], stamp=stamp)
        return self.period(period_id)


class PeriodReopenConfirm(PeriodEndpoint):
    endpoint = "period-confirm-reopen"

    @writes(PeriodOut, body=ConfirmIn, status=200, more_statuses=(412,))
    def post(self, period_id: Any) -> Any:
        """Open the month again as the second person, or name somebody outside who agreed."""
        period_reopen_confirm(
            period=self.period(period_id),
            outsider=self.outsider(),
            expected=self.body["version"],
            stamp=self.stamp(),
        )
        return self.period(period_id)


class PeriodWithdraw(PeriodEndpoint):
    endpoint = "period-withdraw"

    @writes(PeriodOut, body=PeriodVersionIn, status=200, more_statuses=(412,))
    def post(self, period_id: Any) -> Any:
        """Take back what was asked, or turn it down: the month is what it was before."""
        period_withdraw(period=self.period(period_id), expected=self.body["version"], stamp=self.stamp())
        return self.period(period_id)


class ProofCheckOut(Out):
    code = serializers.CharField()
    words = serializers.CharField(help_text="What is held.")
    good = serializers.BooleanField()
    found = serializers.ListField(child=serializers.CharField(), help_text="What is wrong: 20 at most.")
    more = serializers.BooleanField(help_text="Whether more was found than is named.")


class ProofRow(Row):
    ran_at = serializers.DateTimeField()
    ran_by = UserRef(allow_null=True)
    is_good = serializers.BooleanField()
    rows_count = serializers.IntegerField()
    last_row = serializers.IntegerField(help_text="The newest ledger row that was looked at.")
    rows_sha256 = serializers.CharField()


class ProofOut(ProofRow):
    checks = ProofCheckOut(many=True)


class Proofs(ListEndpoint):
    endpoint = "proofs"
    row = ProofRow
    usual_sort = "-id"
    looked: Looked

    def rows(self) -> QuerySet[Any]:
        """Proofs of the ledger, the newest first. One is run each night."""
        return proofs(self.actor)

    def _look(self) -> None:
        self.looked = proof_look()

    @writes(ProofOut, located_at="proof", prepare=_look)
    def post(self) -> Any:
        """Run the proof now: every check over one state of the rows. Its result is kept, good or bad."""
        return proof_keep(self.looked, self.stamp())


class ProofOne(Endpoint):
    endpoint = "proof"

    @shows(ProofOut)
    def get(self, proof_id: Any) -> Any:
        """One proof, check by check, with the rows that are wrong."""
        return proof_get(self.actor, proof_id)
