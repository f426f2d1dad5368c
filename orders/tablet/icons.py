"""The app's mark as a picture of any size, drawn here: a rail fence on a hill. It fills the square, and what matters
lies inside the middle four fifths, so that a launcher may cut it to a circle."""

from functools import lru_cache
from io import BytesIO

from PIL import Image, ImageDraw

GROUND, FENCE, HILL = "#12382c", "#f7f4ea", "#2f6b4f"
SIZES = (180, 192, 512)
FINER = 4


@lru_cache(maxsize=len(SIZES))
def icon_png(size: int) -> bytes:
    side = size * FINER
    picture = Image.new("RGB", (side, side), GROUND)
    draw = ImageDraw.Draw(picture)
    part = side / 100
    draw.ellipse([-40 * part, 58 * part, 140 * part, 190 * part], fill=HILL)
    for left in (27, 46, 65):
        post = [(left, 74), (left, 34), (left + 4, 28), (left + 8, 34), (left + 8, 74)]
        draw.polygon([(x * part, y * part) for x, y in post], fill=FENCE)
    for top in (42, 57):
        draw.rectangle([18 * part, top * part, 82 * part, (top + 5) * part], fill=FENCE)
    out = BytesIO()
    picture.resize((size, size), Image.Resampling.LANCZOS).save(out, "PNG", optimize=True)
    return out.getvalue()
