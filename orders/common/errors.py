"""Refusals: one class a reason, one shape at the door (RFC 9457, rendered by orders.api.problems)."""

from dataclasses import dataclass, field
from typing import Any, ClassVar


@dataclass(frozen=True)
class FieldError:
    """What is wrong with one field; `row` is the number the user sees in a file or a list."""

    field: str
    message: str
    row: int | None = None
    code: str = "invalid"

    def as_dict(self) -> dict[str, Any]:
        shown: dict[str, Any] = {"field": self.field, "code": self.code, "message": self.message}
        return shown if self.row is None else {"row": self.row, **shown}


@dataclass
class Refusal(Exception):
    """A named no. Nothing was written."""

    detail: str
    errors: list[FieldError] = field(default_factory=list)
    data: dict[str, Any] = field(default_factory=dict)

    code: ClassVar[str] = "refused"
    title: ClassVar[str] = "Refused"
    status: ClassVar[int] = 409

    def __str__(self) -> str:
        return self.detail


class NotFound(Refusal):
    """The thing does not exist, or is outside what the actor may see."""

    code = "not_found"
    title = "Not found"
    status = 404


class RoleMissing(Refusal):
    """The actor's roles do not open this."""

    code = "role_missing"
    title = "Your role does not open this"
    status = 403


class Invalid(Refusal):
    """The input is wrong; `errors` names each row and field."""

    code = "invalid"
    title = "Some of the input is wrong"
    status = 400


class WrongState(Refusal):
    """The thing is not in the state that this needs; somebody else may have been faster."""

    code = "wrong_state"
    title = "Not in the right state"


class VersionMismatch(Refusal):
    """The row has changed since it was read."""

    code = "version_mismatch"
    title = "Changed since you read it"
    status = 412


class PreconditionMissing(Refusal):
    """An edit must say which version it edits (If-Match)."""

    code = "precondition_missing"
    title = "Say which version you edit"
    status = 428
