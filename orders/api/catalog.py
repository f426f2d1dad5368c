"""What each problem code means: the page behind the `type` of every problem."""

from dataclasses import dataclass
from inspect import getdoc
from typing import TypeVar

from estimating.errors import EstimatingError
from orders.common.errors import Refusal

Kind = TypeVar("Kind")


@dataclass(frozen=True)
class Meaning:
    code: str
    status: int
    title: str
    meaning: str


FRAMEWORK = (
    Meaning("bad_request", 400, "The request could not be read", "The address, a header or the form is broken."),
    Meaning("parse_error", 400, "Bad Request", "The body is not what its Content-Type says."),
    Meaning("not_authenticated", 401, "Unauthorized", "Log in, or send a token: `Authorization: Token ...`."),
    Meaning("authentication_failed", 401, "Unauthorized", "The token, or the name and password, are not valid."),
    Meaning("device_unknown", 401, "Unauthorized", "No tablet has this token. Enroll it with a code from the desk."),
    Meaning("permission_denied", 403, "Forbidden", "A page that calls the API must send its CSRF token."),
    Meaning("method_not_allowed", 405, "Method Not Allowed", "The Allow header names the verbs of this address."),
    Meaning("not_acceptable", 406, "Not Acceptable", "Ask for application/json."),
    Meaning("payload_too_large", 413, "Request Entity Too Large", "Send less at once."),
    Meaning("unsupported_media_type", 415, "Unsupported Media Type", "Send JSON, or a form where one is asked for."),
    Meaning("throttled", 429, "Too Many Requests", "Wait as many seconds as the Retry-After header says."),
    Meaning("server_error", 500, "Something went wrong on the server", "It is recorded. Nothing was changed."),
)


def meanings() -> dict[str, Meaning]:
    """By code: the framework's own, every refusal of the program, and what an estimate can fail on."""
    found = {meaning.code: meaning for meaning in FRAMEWORK}
    for refusal in _all(Refusal):
        found[refusal.code] = Meaning(refusal.code, refusal.status, refusal.title, getdoc(refusal) or "")
    for error in _all(EstimatingError):
        found[error.code] = Meaning(error.code, 400, "The estimate cannot be made", getdoc(error) or "")
    return dict(sorted(found.items()))


def _all(kind: type[Kind]) -> list[type[Kind]]:
    return [kind, *(below for child in kind.__subclasses__() for below in _all(child))]
