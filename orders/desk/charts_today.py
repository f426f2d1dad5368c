"""The pictures of the start page and of the watch: work by what has become of it, and counts by week."""

from collections.abc import Sequence

from orders.desk.chart_svg import Chart
from orders.desk.charts_kept import drawn_once
from orders.desk.charts_paper import AXIS_PX, LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, Scale, empty, written

ROW_PX, BAR_PX, KEY_PX, WORDS_PX = 44.0, 16.0, 30.0, 150.0
# Stages differ by filling, from hollow to solid: nothing yet, hatched, crossed, done.
FILLS = (("sheet", "edge", ""), ("b-wash", "b", "///"), ("a-wash", "a", "xxx"), ("a", "a", ""))


@drawn_once
def stage_bars(title: str, stages: Sequence[str], rows: Sequence[tuple[str, Sequence[float]]], unit: str) -> Chart:
    """One bar a row, cut by stage: (label, an amount for each stage), in the order given; at most four stages."""
    headings = ["Row", *stages, "Together"]
    if not rows:
        return empty(title, headings)
    paper = Paper(KEY_PX + len(rows) * ROW_PX + AXIS_PX)
    for place, (stage, (fill, edge, hatch)) in enumerate(zip(stages, FILLS, strict=False)):
        left = LEFT_PX + place * WORDS_PX
        paper.bar((left, left + 24), 6, 12, fill, edge=edge, hatch=hatch)
        paper.text(left + 30, 17, stage)
    scale = Scale.over([sum(amounts) for _, amounts in rows], right_px=RIGHT_PX - 90)
    paper.axis(scale, unit, top=KEY_PX - 4)
    for number, (label, amounts) in enumerate(rows):
        _bar(paper, scale, KEY_PX + number * ROW_PX, label, amounts, unit)
    told = f"One bar for each of {len(rows)} rows, cut by {', '.join(stages)}. {SEE_TABLE}"
    places = 2 if unit else 0  # without a unit they are counted
    table = [
        [label, *(written(amount, unit, places) for amount in (*amounts, sum(amounts)))] for label, amounts in rows
    ]
    return paper.chart(title, told, headings, table)


def _bar(paper: Paper, scale: Scale, top: float, label: str, amounts: Sequence[float], unit: str) -> None:
    paper.label(top + 13, label)
    so_far = 0.0
    for amount, (fill, edge, hatch) in zip(amounts, FILLS, strict=False):
        if amount > 0:
            paper.bar((scale.px(so_far), scale.px(so_far + amount)), top + 19, BAR_PX, fill, edge=edge, hatch=hatch)
        so_far += amount
    paper.text(scale.px(so_far) + 6, top + 32, written(so_far, unit, 0))
