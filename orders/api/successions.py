"""Patches split and merged, and both taken back."""

import json
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, YesNo
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, PatchRef, Row
from orders.bodies.base import Because, Body, many
from orders.bodies.fields import Text
from orders.bodies.optional import ids
from orders.common.errors import FieldError, Invalid
from orders.planning.selectors import patches_named
from orders.sites.cutting import MOST_PIECES, NOT_CUT, cut_by_line, outline_of
from orders.sites.geofiles.drafts import CODE_CHARACTERS, NAME_CHARACTERS
from orders.sites.lineage import successions
from orders.sites.models import Patch, PatchSuccession
from orders.sites.selectors import patch_get
from orders.sites.services import Piece, Succession
from orders.sites.services.succession import MOST_MERGED, codes_for_pieces, newest_of
from orders.sites.sharing import shape_of
from orders.workorders.succeeding import merge_patches, split_patch, undo_succession


class SplitPieceIn(Body):
    code = Text(max_length=CODE_CHARACTERS, help_text="Pieces of one code become one patch.")
    outline = serializers.DictField(help_text="GeoJSON Polygon or MultiPolygon within the patch.")


class SplitIn(Because):
    line = serializers.DictField(required=False, help_text="GeoJSON LineString across the patch; or pieces.")
    codes = serializers.ListField(
        child=Text(max_length=CODE_CHARACTERS),
        max_length=MOST_PIECES,
        required=False,
        help_text="Of the pieces that the line cuts, the largest first; left out, they are proposed.",
    )
    pieces = many(SplitPieceIn, most=MOST_PIECES, required=False)


class MergeIn(Because):
    patches = ids(most=MOST_MERGED)
    code = Text(max_length=CODE_CHARACTERS)
    name = Text(max_length=NAME_CHARACTERS, allow_blank=True, required=False)


class SuccessionOut(Out):
    event = serializers.UUIDField()
    kind = serializers.ChoiceField(PatchSuccession.KINDS)
    before = PatchRef(many=True, help_text="Those that ended.")
    after = PatchRef(many=True, help_text="Those in their place.")


class SuccessionRow(Row):
    event = serializers.UUIDField(help_text="All rows of one split or merge share it.")
    kind = serializers.ChoiceField(PatchSuccession.KINDS)
    before = PatchRef()
    after = PatchRef()
    on = serializers.DateField()
    reason = serializers.CharField()
    undone_at = serializers.DateTimeField(allow_null=True)


class SuccessionFilter(Filters):
    before = OfId(field_name="before__public_id")
    after = OfId(field_name="after__public_id")
    event = OfId(field_name="event")
    kind = AnyOf(words=PatchSuccession.KINDS)
    undone = YesNo(field_name="undone_at", lookup_expr="isnull", exclude=True)


class Successions(ListEndpoint):
    endpoint = "patch-successions"
    row = SuccessionRow
    filters = SuccessionFilter
    sorts = {"on": "on"}
    usual_sort = "-on"

    def rows(self) -> QuerySet[PatchSuccession]:
        """Which patch became which by a split or merge; taken-back ones too."""
        return successions()


class PatchSplit(Endpoint):
    endpoint = "patch-split"

    @writes(SuccessionOut, body=SplitIn)
    def post(self, patch_id: Any) -> Succession:
        """End a patch and put its pieces in its place, along a line or by their outlines."""
        patch = patch_get(patch_id)
        return split_patch(patch=patch, pieces=_pieces(patch, self.body), stamp=self.stamp(self.body["reason"]))


class PatchesMerge(Endpoint):
    endpoint = "patches-merge"

    @writes(SuccessionOut, body=MergeIn, names_others=True)
    def post(self) -> Succession:
        """End several patches of one site and put one in their place."""
        body, patches = self.body, patches_named(self.body["patches"])
        stamp = self.stamp(body["reason"])
        return merge_patches(patches=patches, code=body["code"], name=body.get("name", ""), stamp=stamp)


class SuccessionUndo(Endpoint):
    endpoint = "patch-succession-undo"

    @writes(SuccessionOut, body=Because, status=200)
    def post(self, event: Any) -> Succession:
        """Let the patches before stand again, while nothing new rests on the new ones."""
        return undo_succession(event=event, stamp=self.stamp(self.body["reason"]))


def _pieces(patch: Patch, body: dict[str, Any]) -> list[Piece]:
    if ("line" in body) == ("pieces" in body):
        raise Invalid(NOT_CUT, [FieldError("line", "give either a line or pieces")])
    if "pieces" in body:
        return [
            Piece(piece["code"], outline_of(json.dumps(piece["outline"]), f"pieces[{number}].outline", NOT_CUT))
            for number, piece in enumerate(body["pieces"])
        ]
    cut = cut_by_line(shape_of(newest_of([patch], NOT_CUT)[0]), json.dumps(body["line"]))
    codes = body.get("codes") or codes_for_pieces(patch, len(cut))
    if len(codes) != len(cut):
        raise Invalid(NOT_CUT, [FieldError("codes", f"the line cuts {len(cut)} pieces; name as many")])
    return [Piece(code, piece) for code, piece in zip(codes, cut, strict=True)]
