"""Names of a stranger's file within a message of limited length."""

from collections.abc import Iterable

MESSAGE_CHARACTERS = 400
# Of a message that says something beside the names.
NAMES_CHARACTERS = 240
NAMELESS = "one without a name"


def names_within(names: Iterable[str], most: int = NAMES_CHARACTERS) -> str:
    """The names, each whole or not at all, and how many more there are."""
    listed = [name or NAMELESS for name in names]
    whole = ", ".join(listed)
    if len(whole) <= most:
        return whole
    room = most - len(f" and {len(listed)} more")
    shown: list[str] = []
    for name in listed:
        if len(", ".join([*shown, name])) <= room:
            shown.append(name)
    if not shown:
        return f"{len(listed)} with names too long to be told here"
    return f"{', '.join(shown)} and {len(listed) - len(shown)} more"
