"""All kinds of commands: the modules that hear them register themselves when they are imported."""

from orders.commands import chemicals, closing, day, pictures, records, safety, work
from orders.commands.heard import KINDS, Kind

HEARING = (chemicals, closing, day, pictures, records, safety, work)


def kind_find(code: str) -> Kind | None:
    return KINDS.get(code)
