"""Taking a row out of use: it is offered for nothing new and stays readable where it stands. What is in use rests on
what is in use alone."""

from collections.abc import Iterable

from orders.common.errors import FieldError, Refusal


class StillNeeded(Refusal):
    """Something that is in use needs it: give that something else, or take it out of use first."""

    code = "still_needed"
    title = "Something in use needs it"


class NeedsOutOfUse(Refusal):
    """It needs something that is no longer in use: put that back in use first, or give it something else."""

    code = "needs_out_of_use"
    title = "It needs something that is no longer in use"


def needed_refuse(detail: str, field: str, users: Iterable[str]) -> None:
    """Refuse where something in use needs the row; `users` are named one by one."""
    if errors := [FieldError(field, name, code=StillNeeded.code) for name in users]:
        raise StillNeeded(detail, errors)


def needs_refuse(detail: str, field: str, needed: Iterable[str]) -> None:
    """Refuse where the row needs something that is out of use; what is needed is named one by one."""
    if errors := [FieldError(field, name, code=NeedsOutOfUse.code) for name in needed]:
        raise NeedsOutOfUse(detail, errors)
