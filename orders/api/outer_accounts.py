"""The ledger in somebody else's chart of accounts: which code an account has there, and the journals that hand the rows
over. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from django.http import StreamingHttpResponse
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfWord
from orders.api.operations import edits, plain, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Id, Text, Whole
from orders.costs.journal_file import journal_lines
from orders.costs.month_selectors import (
    account_mapping_get,
    account_mappings,
    journal_batch_get,
    journal_batches,
)
from orders.costs.selectors import award_get, fund_get
from orders.costs.services.journal import (
    MappingKey,
    account_mapping_add,
    account_mapping_edit,
    account_mapping_remove,
    journal_export,
)
from orders.costs.words import ACCOUNT_WORDS, CATEGORY_WORDS


class MappedFundRef(Row):
    code = serializers.CharField()


class MappedAwardRef(Row):
    code = serializers.CharField()


class AccountMappingOut(VersionedRow):
    account = serializers.ChoiceField(ACCOUNT_WORDS)
    fund = MappedFundRef(allow_null=True, help_text="None: every fund.")
    award = MappedAwardRef(allow_null=True, help_text="None: every award, and what has none.")
    category = serializers.CharField(help_text="Empty: every category.")
    outer_code = serializers.CharField()
    outer_name = serializers.CharField()


class AccountMappingIn(Body):
    account = Choice(ACCOUNT_WORDS)
    fund = Id(required=False, allow_null=True)
    award = Id(required=False, allow_null=True)
    category = Choice(CATEGORY_WORDS, required=False)
    outer_code = Text(max_length=60)
    outer_name = Text(max_length=120, allow_blank=True, default="")


class AccountMappingEditIn(Body):
    outer_code = Text(max_length=60)
    outer_name = Text(max_length=120, allow_blank=True, default="")


class AccountMappingRemoveIn(Body):
    version = Whole(help_text="As it was read.")


class AccountMappingFilter(Filters):
    account = AnyOf(words=ACCOUNT_WORDS)
    fund = OfWord(field_name="fund__code")


class AccountMappings(ListEndpoint):
    endpoint = "account-mappings"
    row = AccountMappingOut
    filters = AccountMappingFilter
    sorts = {"account": "account", "outer_code": "outer_code"}
    usual_sort = "account"

    def rows(self) -> QuerySet[Any]:
        """Which outer code an account has; of several rows that fit a posting, the fullest counts."""
        return account_mappings(self.actor)

    @writes(AccountMappingOut, body=AccountMappingIn, names_others=True, located_at="account-mapping")
    def post(self) -> Any:
        """Give an account an outer code: for one fund, award or category, or for all of them."""
        told = dict(self.body)
        fund, award = told.pop("fund", None), told.pop("award", None)
        key = MappingKey(
            account=told["account"],
            fund=fund_get(fund) if fund else None,
            award=award_get(award) if award else None,
            category=told.get("category", ""),
        )
        made = account_mapping_add(
            key=key, outer_code=told["outer_code"], outer_name=told["outer_name"], stamp=self.stamp()
        )
        return account_mapping_get(self.actor, made.public_id)


class AccountMappingOne(Endpoint):
    endpoint = "account-mapping"

    @shows(AccountMappingOut)
    def get(self, mapping_id: Any) -> Any:
        """One mapping."""
        return account_mapping_get(self.actor, mapping_id)

    @edits(AccountMappingOut, body=AccountMappingEditIn)
    def patch(self, mapping_id: Any) -> Any:
        """Give it another code. Journals that were made keep theirs."""
        mapping = account_mapping_get(self.actor, mapping_id)
        expected = self.version_named(mapping)
        return account_mapping_edit(mapping=mapping, expected=expected, stamp=self.stamp(), **self.body)


class MappingRemovedOut(Out):
    removed = serializers.UUIDField()


class AccountMappingRemove(Endpoint):
    endpoint = "account-mapping-remove"

    @writes(MappingRemovedOut, body=AccountMappingRemoveIn, status=200, has_etag=False, more_statuses=(412,))
    def post(self, mapping_id: Any) -> dict[str, Any]:
        """Take a mapping away; what it said stays in the record of changes."""
        mapping = account_mapping_get(self.actor, mapping_id)
        account_mapping_remove(mapping=mapping, expected=self.body["version"], stamp=self.stamp())
        return {"removed": mapping_id}


class JournalBatchOut(Row):
    number = serializers.IntegerField()
    after_row = serializers.IntegerField(help_text="It holds the ledger rows after this one,")
    last_row = serializers.IntegerField(help_text="up to this one.")
    rows_count = serializers.IntegerField()
    total_cents = serializers.IntegerField(help_text="Of the debits, which equal the credits.")
    file_sha256 = serializers.CharField()
    made_at = serializers.DateTimeField()
    made_by = UserRef(allow_null=True)


class JournalBatches(ListEndpoint):
    endpoint = "journal-batches"
    row = JournalBatchOut
    sorts = {"number": "number"}
    usual_sort = "-number"

    def rows(self) -> QuerySet[Any]:
        """Journals that were handed over, the newest first.

        Another system fetches what is new with a token of the finance role and nothing but GET: this list, then the
        file of each number that it has not seen."""
        return journal_batches(self.actor)

    @writes(JournalBatchOut, has_etag=False)
    def post(self) -> Any:
        """Make the next journal: every ledger row since the last one, in outer codes.

        Each row is a debit and a credit line. Refused as a whole, with the list, while an account in it has no code."""
        return journal_export(self.stamp())


class JournalBatchFile(Endpoint):
    endpoint = "journal-batch-file"

    @plain(status=200, gives=("text/csv",))
    def get(self, request: Any, journal_id: Any) -> StreamingHttpResponse:
        """The journal as CSV (RFC 4180): the same bytes whenever it is asked for, as its hash says."""
        batch = journal_batch_get(self.actor, journal_id)
        named = {"Content-Disposition": f'attachment; filename="journal-{batch.number}.csv"'}
        return StreamingHttpResponse(
            journal_lines(batch), content_type="text/csv; charset=utf-8; header=present", headers=named
        )
