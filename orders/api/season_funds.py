"""Funds of a season: what each may pay, where and until when."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, SiteRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Cents, Day, Id, Text
from orders.planning.funds import season_fund_add, season_fund_edit, season_fund_remove
from orders.planning.models import SeasonFund
from orders.planning.selectors import season_fund_get, season_funds_listed, season_get
from orders.sites.selectors import sites_named

MOST_SITES = 500


class SeasonFundOut(VersionedRow):
    season = NamedRef()
    code = serializers.CharField()
    name = serializers.CharField()
    budget_cents = serializers.IntegerField()
    sites = SiteRef(many=True, help_text="It pays there; none: for all sites that no other fund names.")
    first_day = serializers.DateField(allow_null=True, help_text="It pays from this day on.")
    last_day = serializers.DateField(allow_null=True, help_text="It pays until this day.")


class SeasonFundEdit(Body):
    name = Text(max_length=120, required=False)
    budget_cents = Cents(required=False)
    sites = serializers.ListField(child=Id(), max_length=MOST_SITES, required=False)
    first_day = Day(required=False, allow_null=True)
    last_day = Day(required=False, allow_null=True)


class SeasonFundIn(SeasonFundEdit):
    season = Id()
    code = Text(max_length=50, help_text="The fund's own code.")
    name = Text(max_length=120)
    budget_cents = Cents()


class SeasonFundFilter(Filters):
    season = OfId(field_name="season__public_id")
    code = OfWord()


class _Funds(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its sites as rows."""
        named = {"sites": sites_named(self.body["sites"])} if "sites" in self.body else {}
        return {**self.body, **named}


class SeasonFunds(ListEndpoint, _Funds):
    endpoint = "season-funds"
    row = SeasonFundOut
    filters = SeasonFundFilter
    sorts = {"id": "id", "code": "code"}

    def rows(self) -> QuerySet[SeasonFund]:
        """What funds may pay of a season's work, and where."""
        return season_funds_listed()

    @writes(SeasonFundOut, body=SeasonFundIn, names_others=True, located_at="season-fund")
    def post(self) -> SeasonFund:
        """Add a fund to a season; it pays for open work at its sites that had none."""
        season = season_get(self.body.pop("season"))
        return season_fund_add(season=season, stamp=self.stamp(), **self.told())


class SeasonFundOne(_Funds):
    endpoint = "season-fund"

    @shows(SeasonFundOut)
    def get(self, season_fund_id: Any) -> SeasonFund:
        """One fund of a season."""
        return season_fund_get(season_fund_id)

    @edits(SeasonFundOut, body=SeasonFundEdit, names_others=True)
    def patch(self, season_fund_id: Any) -> SeasonFund:
        """Change its name, budget, days or sites; what is left out stays. Open work is given out anew."""
        fund = season_fund_get(season_fund_id)
        expected = self.version_named(fund)
        season_fund_edit(fund=fund, values=self.told(), expected=expected, stamp=self.stamp())
        return season_fund_get(season_fund_id)


class SeasonFundRemove(Endpoint):
    endpoint = "season-fund-remove"

    @writes(SeasonFundOut, body=Because, status=200)
    def post(self, season_fund_id: Any) -> SeasonFund:
        """Take it out of the season, with the reason; the reply shows what it was."""
        fund = season_fund_get(season_fund_id)
        season_fund_remove(fund=fund, expected=fund.version, stamp=self.stamp(self.body["reason"]))
        return fund
