"""Signs put up and taken down."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import AnyOf, Filters, OfId
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, SiteRef, UserRef
from orders.workorders.field_facts import sign_postings_of
from orders.workorders.models import SignPosting


class SignPostingOut(Row):
    sign = serializers.UUIDField(help_text="The same for going up and coming down.")
    state = serializers.ChoiceField(SignPosting.STATES)
    site = SiteRef()
    order = serializers.IntegerField(source="order.number", default=None, allow_null=True, help_text="Its number.")
    place = serializers.CharField()
    at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    lon = serializers.FloatField(allow_null=True)
    lat = serializers.FloatField(allow_null=True)


class SignPostingFilter(Filters):
    site = OfId(field_name="site__public_id")
    order = OfId(field_name="order__public_id")
    sign = OfId(field_name="sign")
    state = AnyOf(words=SignPosting.STATES)


class SignPostings(ListEndpoint):
    endpoint = "sign-postings"
    row = SignPostingOut
    filters = SignPostingFilter
    sorts = {"at": "at"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[SignPosting]:
        """Signs up and down; a crew lead's are those of own crews' orders and own ones."""
        return sign_postings_of(self.actor, on=self.today)
