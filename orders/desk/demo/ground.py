"""Ground with a past, all invented: surveys of the years before, a patch that was split, photos drawn by code."""

import io
import json
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from django.conf import settings
from PIL import Image, ImageDraw

from orders.common.pictures import picture_redrawn
from orders.desk.demo.scene import Walk
from orders.sites.cutting import AREAS, cut_by_line
from orders.sites.models import Survey, SurveyComponent
from orders.sites.selectors import surveys_current
from orders.sites.services import Piece, Sheet, patch_photo_add, survey_add
from orders.sites.services.succession import codes_for_pieces
from orders.sites.sharing import shape_of
from orders.workorders.models import CloseOut
from orders.workorders.succeeding import split_patch, work_resting

# Years before the survey, and the share of its cover that is invented for each.
COURSE = ((3, 0.55), (2, 0.75), (1, 0.9))
YEAR = timedelta(days=365)
PATCHES_WITH_A_PAST = 6
INVENTED = "Invented, like all of the demo's data."
SIZE = (960, 640)
# What each drawn photo shows, how long before the survey, and its colors: sky, ground, leaves.
PHOTOS = (
    ("From the gate, two years before", 2, ("#cfdbe3", "#8c8a6a", "#7a8f52")),
    ("The same spot, a year before", 1, ("#dfe6ea", "#86805e", "#55733f")),
    ("The same spot on the day of the survey", 0, ("#c4d2dc", "#6f7350", "#2f5a2c")),
)


def ground_past(steps: Walk) -> None:
    """What a visitor finds: strips of several years, photos of one spot, a patch that was split."""
    surveys = list(surveys_current())
    shown = surveys[:PATCHES_WITH_A_PAST]
    past = sum(_past(steps, survey) for survey in shown)
    photos = _photos(steps, shown[0])
    steps.tell(f"Ground     {past} surveys of years before, {photos} drawn photos of {shown[0].patch}")
    steps.tell(f"           {_split(steps, surveys)}")


def _past(steps: Walk, survey: Survey) -> int:
    for years, share in COURSE:
        parts = [_component(survey, part, share) for part in survey.components.all()]
        day = survey.observed_on - years * YEAR
        facts = {"observed_on": day.isoformat(), "observer": survey.observer, "notes": INVENTED}
        facts["gross_area_m2"] = str(survey.gross_area_m2)
        sheet = Sheet(facts=facts, components=parts, outline=json.dumps(survey.geometry))
        survey_add(patch=survey.patch, sheet=sheet, stamp=steps.stamp("coordinator"))
    return len(COURSE)


def _component(survey: Survey, part: SurveyComponent, share: float) -> Mapping[str, Any]:
    return {
        "species": part.species.code,
        "growth_form": part.growth_form.code,
        "cover_percent": round(100 * part.cover_likely * share, 1),
        "infested_percent": round(min(100.0, 100 * part.infested_area_m2 / survey.gross_area_m2), 1),
    }


def _photos(steps: Walk, survey: Survey) -> int:
    for number, (caption, years, colors) in enumerate(PHOTOS):
        made = picture_redrawn(
            _drawn(colors, number), name=f"{number}.jpg", most_bytes=settings.PHOTO_MAX_BYTES, field="photos"
        )
        patch_photo_add(
            patch=survey.patch,
            picture=made,
            taken_on=survey.observed_on - years * YEAR,
            caption=f"{caption}. {INVENTED}",
            stamp=steps.stamp("coordinator"),
        )
    return len(PHOTOS)


def _drawn(colors: Sequence[str], number: int) -> bytes:
    """Sky, ground, three trunks, and leaves that cover more of it each year."""
    sky, ground, leaves = colors
    image = Image.new("RGB", SIZE, sky)
    pen = ImageDraw.Draw(image)
    width, height = SIZE
    pen.rectangle((0, height * 0.55, width, height), fill=ground)
    for trunk in (0.2, 0.5, 0.82):
        pen.rectangle((width * trunk - 22, 0, width * trunk + 22, height * 0.7), fill="#4b4036")
    for leaf in range(220 * (number + 1)):
        x, y = (leaf * 137) % width, height * 0.56 + (leaf * 71) % int(height * 0.44)
        pen.ellipse((x - 14, y - 9, x + 14, y + 9), fill=leaves)
    made = io.BytesIO()
    image.save(made, "JPEG")
    return made.getvalue()


def _split(steps: Walk, surveys: Sequence[Survey]) -> str:
    """The largest patch on which no work stands, cut from south to north."""
    free = [one for one in surveys if one.geometry["type"] in AREAS and not work_resting([one.patch])]
    if not free:
        return "no patch is free of work, so that none was split"
    survey = max(free, key=lambda one: one.gross_area_m2)
    middle = (survey.min_lon + survey.max_lon) / 2
    line = {"type": "LineString", "coordinates": [[middle, survey.min_lat - 0.001], [middle, survey.max_lat + 0.001]]}
    cut = cut_by_line(shape_of(survey), json.dumps(line))
    codes = codes_for_pieces(survey.patch, len(cut))
    pieces = [Piece(code, piece) for code, piece in zip(codes, cut, strict=True)]
    at = CloseOut.objects.latest("happened_at").happened_at + timedelta(days=1)  # after the season's work on it
    stamp = steps.stamp("coordinator", at, "The brook parts it; two crews work it from two sides")
    made = split_patch(patch=survey.patch, pieces=pieces, stamp=stamp)
    return f"{survey.patch} split into {', '.join(patch.code for patch in made.after)}"
