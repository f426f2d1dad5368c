"""Lists: the rows of the actor's scope, filtered, sorted, a page at a time.

A cursor holds the place (value of the sort field, id) and is signed, so that nobody has to guess what a made-up one
means. Each row that stays is seen once while others are added.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from typing import Any, ClassVar

from django.core import signing
from django.db.models import Q, QuerySet
from django.http import QueryDict
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.base import Endpoint, queries_check
from orders.api.columns import columns_of
from orders.api.filters import Filters
from orders.api.shapes import Out
from orders.common.errors import FieldError, Invalid

PAGE, MOST = 50, 200
SALT = "orders.api.paging"


@dataclass(frozen=True)
class Place:
    """Where a page begins: after the row with this value of the sort field, and this id."""

    value: Any
    row_id: int


class ListEndpoint(Endpoint):
    """`rows()` in the actor's scope, `filters`, and `sorts`: the words a client may sort by -> the field behind each.

    The first sort is the usual one; `-` before it means downwards.
    """

    row: ClassVar[type[Out]]
    filters: ClassVar[type[Filters] | None] = None
    sorts: ClassVar[Mapping[str, str]] = {"id": "id"}
    usual_sort: ClassVar[str] = "id"
    from_columns: ClassVar[bool] = False  # for long lists whose rows are columns and nothing else
    lists = True

    def rows(self) -> QuerySet[Any]:
        raise NotImplementedError(f"{type(self).__name__} has no rows()")

    def get(self, request: Request) -> Response:
        queries_check(request, {"limit", "cursor", "sort", *self.filter_names()})
        sort = _sort(request, self.sorts, self.usual_sort)
        ordered = _ordered(self.filtered(self.rows()), sort, self.sorts[sort.removeprefix("-")], _place(request, sort))
        shown, following = self.page(ordered, sort, _limit(request))
        address = following and _address(request, following)
        headers = {"Link": f'<{address}>; rel="next"'} if address else {}
        return Response({"results": shown, "next": address}, headers=headers)

    def page(self, ordered: QuerySet[Any], sort: str, limit: int) -> tuple[Any, str | None]:
        """The rows of one page as they are shown, and the cursor of the next (None where this is the last)."""
        field = self.sorts[sort.removeprefix("-")]
        if self.from_columns:
            return self._page_of_values(ordered, sort, field, limit)
        found = list(ordered[: limit + 1])
        shown = self.row(found[:limit], many=True, context={"actor": self.actor}).data
        if len(found) <= limit:
            return shown, None
        last = found[limit - 1]
        return shown, _cursor(sort, attrgetter(field.replace("__", "."))(last), last.pk)

    def _page_of_values(
        self, ordered: QuerySet[Any], sort: str, field: str, limit: int
    ) -> tuple[list[dict[str, Any]], str | None]:
        columns = columns_of(self.row, self.row.hidden_from(self.actor))
        values = ordered.prefetch_related(None).values_list("pk", field, *columns.paths)
        found = list(values[: limit + 1])
        shown = columns.rows(ordered.model, ((key, rest) for key, _, *rest in found[:limit]))
        last = found[limit - 1] if len(found) > limit else None
        return shown, last and _cursor(sort, last[1], last[0])

    @classmethod
    def filter_names(cls) -> list[str]:
        return list(cls.filters.base_filters) if cls.filters else []

    def filtered(self, rows: QuerySet[Any]) -> QuerySet[Any]:
        if self.filters is None:
            return rows
        asked = self.filters(self.request.query_params, queryset=rows, request=self.request)
        asked.today = self.today
        if not asked.is_valid():
            raise ValidationError(asked.errors)
        return asked.qs  # type: ignore[no-any-return]


def _ordered(rows: QuerySet[Any], sort: str, field: str, place: Place | None) -> QuerySet[Any]:
    """In a stable order, from a place on."""
    down = "-" if sort.startswith("-") else ""
    ordered = rows.order_by(f"{down}{field}", f"{down}id") if field != "id" else rows.order_by(f"{down}id")
    return ordered.filter(_after(field, place, "lt" if down else "gt"))


def _cursor(sort: str, value: Any, key: int) -> str:
    return signing.dumps([sort, value.isoformat() if isinstance(value, date) else value, key], salt=SALT)


def _after(field: str, place: Place | None, beyond: str) -> Q:
    if place is None:
        return Q()
    if field == "id":
        return Q(**{f"id__{beyond}": place.row_id})
    same = Q(**{field: place.value, f"id__{beyond}": place.row_id})
    return Q(**{f"{field}__{beyond}": place.value}) | same


def _sort(request: Request, sorts: Mapping[str, str], usual: str) -> str:
    asked = request.query_params.get("sort", usual)
    if asked.removeprefix("-") not in sorts:
        fields = ", ".join(sorts)
        message = f"must be one of {fields}, with - before it for downwards"
        raise Invalid("The list cannot be sorted that way.", [FieldError("sort", message)])
    return asked


def _limit(request: Request) -> int:
    asked = request.query_params.get("limit", str(PAGE))
    if not (asked.isascii() and asked.isdigit() and len(asked) < 6 and 1 <= int(asked) <= MOST):
        raise Invalid("The page cannot have that size.", [FieldError("limit", f"must be from 1 to {MOST}")])
    return int(asked)


def _place(request: Request, sort: str) -> Place | None:
    asked = request.query_params.get("cursor")
    if asked is None:
        return None
    try:
        own_sort, value, row_id = signing.loads(asked, salt=SALT)
    except signing.BadSignature as error:
        message = "is none of ours; begin again without it"
        raise Invalid("The page cannot be found.", [FieldError("cursor", message)]) from error
    if own_sort != sort:
        message = f"belongs to a list sorted by {own_sort}"
        raise Invalid("The page cannot be found.", [FieldError("cursor", message)])
    return Place(value, row_id)


def _address(request: Request, cursor: str) -> str:
    """Of the next page: the same question with the new cursor, from the server's root."""
    query = QueryDict(mutable=True)
    query.update(request.query_params)
    query["cursor"] = cursor
    return f"{request.path}?{query.urlencode()}"
