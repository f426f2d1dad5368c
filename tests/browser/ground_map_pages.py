"""What the page of the map shows: patches of all classes, one measure of each kind, marks, none at all."""

from tests.desk.pages.ground.map_world import map_build


def cover() -> str:
    map_build(24)
    return "/map/"


def deadline() -> str:
    map_build(24)
    return "/map/?by=deadline&cover_from=10"


def none_answers() -> str:
    map_build(2)
    return "/map/?text=nowhere"
