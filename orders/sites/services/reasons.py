"""What is taken back is taken back with a reason."""

from orders.common.rows import Findings
from orders.common.stamp import Stamp

REASON_CHARACTERS = 200


def storable(text: str) -> str:
    """Without what no database keeps: the zero character, and bytes of a file name that are no text."""
    return text.replace("\x00", "").encode(errors="replace").decode()


def reason_check(stamp: Stamp, detail: str) -> None:
    """Refuse a stamp that does not say why."""
    found = Findings()
    found.need(bool(stamp.reason.strip()), "reason", "Say why.")
    kept = stamp.reason == storable(stamp.reason)[:REASON_CHARACTERS]
    found.need(kept, "reason", f"Must be text of at most {REASON_CHARACTERS} characters.")
    found.refuse(detail)
