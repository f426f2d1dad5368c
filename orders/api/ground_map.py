"""The ground as a map shows it, for programs that draw their own; and what is wanted of many patches at once."""

from typing import Any

from django.utils.decorators import method_decorator
from django.views.decorators.gzip import gzip_page
from rest_framework import serializers
from rest_framework.response import Response

from orders.api.base import Endpoint, etag, has_already
from orders.api.operations import Operation, shows, writes
from orders.api.queries import A_DAY, AN_ID, Reader, one_of, queries_need, queries_read
from orders.api.shapes import Out
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Id, Number, Text, day_read, id_read
from orders.common.errors import FieldError, Invalid
from orders.common.kept import changes_version
from orders.planning.preview import MOST_PATCHES
from orders.planning.selectors import patches_named, season_get
from orders.reports.ground.columns import picture_columns
from orders.reports.ground.measures import MEASURES, USUAL
from orders.reports.ground.outlines import LEAST_ZOOM, MOST_ZOOM, OutlineQuestion, ground_outlines
from orders.reports.ground.picture import ground_picture
from orders.reports.ground.question import GroundQuestion
from orders.sites.models import CONTROL_STATES
from orders.sites.services import PatchesEdited, patches_edit, patches_edit_undo

WRONG = "The map cannot be asked for that way."
WORD_CHARACTERS = 120
A_WORD = {"type": "string", "minLength": 1, "maxLength": WORD_CHARACTERS}
A_SHARE = {"type": "number", "minimum": 0, "maximum": 1}
STATES = [code for code, _ in CONTROL_STATES]
QUERIES = (
    ("by", {"type": "string", "enum": list(MEASURES)}, f"The measure; {USUAL} if left out."),
    ("season", AN_ID, "Whose choices, orders and deadlines are told; without it there are none but deadlines."),
    ("site", A_WORD, "Code of a site."),
    ("species", A_WORD, "Code of a species that the newest survey found there."),
    ("form", A_WORD, "Code of a growth form."),
    ("control_state", {"type": "string", "enum": STATES}, "Of the patch."),
    ("method", A_WORD, "Code of a method that is chosen there in the season, or none."),
    ("cover_from", A_SHARE, "Share of the infested ground, at least."),
    ("cover_to", A_SHARE, "The same, at most."),
    ("seed_from", A_DAY, "The seed deadline is on this day or after it."),
    ("seed_to", A_DAY, "The same, or before it."),
    ("text", A_WORD, "In the code or the name of patch or site."),
)
BOX = (
    *(
        (edge, {"type": "number", "minimum": -180, "maximum": 180}, "Degrees of longitude.")
        for edge in ("west", "east")
    ),
    *((edge, {"type": "number", "minimum": -85, "maximum": 85}, "Degrees of latitude.") for edge in ("south", "north")),
    ("zoom", {"type": "integer", "minimum": LEAST_ZOOM, "maximum": MOST_ZOOM}, "0 shows the earth in 256 pixels."),
)


def _number(least: float, most: float) -> Reader:
    def read(text: str) -> float:
        found = float(text) if text.isascii() and len(text) <= 24 else float("nan")
        if not least <= found <= most:
            raise ValueError(f"must be a number from {least:g} to {most:g}")
        return found

    return read


def _zoom(text: str) -> int:
    wanted = [str(zoom) for zoom in range(LEAST_ZOOM, MOST_ZOOM + 1)]
    if text not in wanted:
        raise ValueError(f"must be a whole number from {LEAST_ZOOM} to {MOST_ZOOM}")
    return int(text)


def _one_of(words: list[str]) -> Reader:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"must be one of {', '.join(words)}")
        return text

    return read


def _word(text: str) -> str:
    if "\0" in text or len(text) > WORD_CHARACTERS:
        raise ValueError(f"must be text of at most {WORD_CHARACTERS} characters")
    return text


READERS: dict[str, Reader] = {
    "by": _one_of(list(MEASURES)),
    "season": id_read,
    "control_state": _one_of(STATES),
    **dict.fromkeys(("site", "species", "form", "method", "text"), _word),
    **dict.fromkeys(("cover_from", "cover_to"), _number(0, 1)),
    **dict.fromkeys(("seed_from", "seed_to"), day_read),
}
BOX_READERS: dict[str, Reader] = {
    **dict.fromkeys(("west", "east"), _number(-180, 180)),
    **dict.fromkeys(("south", "north"), _number(-85, 85)),
    "zoom": _zoom,
}


class MapClassOut(Out):
    key = serializers.CharField()
    words = serializers.CharField()
    look = serializers.IntegerField(help_text="1 to 6 from little to much; 0: has none; 7: other kinds.")
    count = serializers.IntegerField()
    shown = serializers.BooleanField(help_text="Always true here: pages may switch a class off.")


def _whole(about: str) -> serializers.ListField:
    return serializers.ListField(child=serializers.IntegerField(), help_text=about)


class AsItIs(Out):
    """Columns of thousands of plain values, which need no translation."""

    def to_representation(self, instance: Any) -> dict[str, Any]:
        return dict(instance)


class MapOut(AsItIs):
    """Columns: the same place in each is the same patch, in the order of sites and codes."""

    by = serializers.CharField()
    words = serializers.CharField(help_text="Of the measure.")
    classes = MapClassOut(many=True)
    steps_per_degree = serializers.IntegerField(help_text="In which west, south, width and height are counted.")
    sites = serializers.ListField(child=serializers.CharField(), help_text="Codes.")
    id = serializers.ListField(child=serializers.UUIDField(), help_text="Of the patches.")
    site = _whole("Place in sites.")
    code = serializers.ListField(child=serializers.CharField(), help_text="Of the patches.")
    west = _whole("Of the box round the patch, each as the difference from the one before.")
    south = _whole("The same.")
    width = _whole("Of the box.")
    height = _whole("Of the box.")
    told = _whole("The figure in words: place in told_words.")
    told_words = serializers.ListField(child=serializers.CharField())
    value = serializers.ListField(child=serializers.FloatField(allow_null=True), help_text="The figure itself.")

    def get_fields(self) -> dict[str, Any]:
        """`class` cannot be written as a field of a class."""
        return {**super().get_fields(), "class": _whole("Place in classes.")}


class MapOutlinesOut(AsItIs):
    """Outlines of patches that are 4 pixels wide or more at the zoom, the largest first."""

    zoom = serializers.IntegerField()
    x = serializers.IntegerField(help_text="Of the northwest corner of the box, in half pixels of Web Mercator.")
    y = serializers.IntegerField(help_text="The same, to the south.")
    is_all = serializers.BooleanField(help_text="False where there are more than are told.")
    id = serializers.ListField(child=serializers.UUIDField(), help_text="Of the patches.")
    rings = serializers.ListField(
        child=serializers.ListField(child=serializers.ListField(child=serializers.IntegerField())),
        help_text="By patch, its rings: x and y in turn, the first point from the corner, others from the one before.",
    )


class _Ground(Endpoint):
    """What it answers follows from the rows alone: a reader who has it is told so before anything is computed."""

    def told(self, make: Any) -> Response:
        """Made, unless the reader has it by the feed's newest record."""
        version = changes_version()
        headers = {"ETag": etag([version, self.today.isoformat(), self.request.get_full_path()])} if version else {}
        if has_already(self.request, headers.get("ETag")):
            return Response(status=304, headers=headers)
        return Response(make(), headers=headers)

    def shown(self, row: Any, operation: Operation) -> Response:
        return row if isinstance(row, Response) else super().shown(row, operation)


@method_decorator(gzip_page, name="dispatch")
class GroundMap(_Ground):
    endpoint = "map"

    @shows(MapOut, queries=QUERIES, names_others=True)
    def get(self) -> Response:
        """All surveyed patches that the question asks for, each in a class of one measure, as columns."""
        read = queries_read(self.request, READERS, wrong=WRONG)
        season = one_of(season_get, read, "season")
        by = read.pop("by", USUAL)
        question = GroundQuestion(**{**read, "season": season})
        return self.told(lambda: picture_columns(ground_picture(question=question, by=by, on=self.today), by_id=True))


@method_decorator(gzip_page, name="dispatch")
class GroundMapOutlines(_Ground):
    endpoint = "map-outlines"

    @shows(MapOutlinesOut, queries=BOX)
    def get(self) -> Response:
        """Outlines of the surveyed patches within a box, simplified to what a zoom can show."""
        read = queries_read(self.request, BOX_READERS, wrong=WRONG)
        queries_need(read, tuple(BOX_READERS), wrong=WRONG)
        if read["east"] <= read["west"] or read["north"] <= read["south"]:
            raise Invalid(WRONG, [FieldError("east", "the box must have a width and a height")])
        return self.told(lambda: ground_outlines(OutlineQuestion(**read), by_id=True))


class PatchesEditIn(Body):
    """At least one of the two values; both count for all of the patches."""

    patches = serializers.ListField(child=Id(), min_length=1, max_length=MOST_PATCHES)
    control_state = Choice(CONTROL_STATES, required=False)
    target_cover = Number(min_value=0, max_value=1, required=False, help_text="Share of the ground.")
    reason = Text(max_length=200)


class PatchesEditedOut(Out):
    id = serializers.UUIDField(source="public_id", help_text="By which it is undone.")
    patches = serializers.IntegerField(source="count", help_text="How many were changed.")
    unchanged = serializers.IntegerField(help_text="How many had these values already.")


class PatchesEdits(Endpoint):
    endpoint = "patches-edits"

    @writes(PatchesEditedOut, body=PatchesEditIn, names_others=True)
    def post(self) -> PatchesEdited:
        """Change the control state or the target cover of many patches: all of them or none."""
        patches = patches_named(self.body.pop("patches"))
        stamp = self.stamp(self.body.pop("reason"))
        return patches_edit(patches=patches, stamp=stamp, **self.body)


class PatchesUndoneOut(Out):
    patches = serializers.IntegerField(help_text="How many were put back.")


class PatchesEditUndo(Endpoint):
    endpoint = "patches-edit-undo"

    @writes(PatchesUndoneOut, status=200)
    def post(self, edit_id: Any) -> dict[str, int]:
        """Put back what one edit changed, unless one of its patches was changed since."""
        return {"patches": patches_edit_undo(edit_id=edit_id, stamp=self.stamp())}
