"""Replies that are remembered: a request may be sent again, and what it asks for happens once."""

import hashlib
import json
from collections.abc import Callable
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.models import RememberedReply, User
from orders.common.transactions import writing

KEPT_HEADERS = ("ETag", "Location")
KEY_LENGTHS = (8, 200)
UNIQUE_VIOLATION = "23505"  # PostgreSQL's error codes, class 23


class KeyUsedOtherwise(Refusal):
    """The same Idempotency-Key came with another request. A key belongs to one request and its repeats."""

    code = "key_used_otherwise"
    title = "This Idempotency-Key was used for another request"
    status = 422


class Taken(Refusal):
    """An id or a name that must be unique is in use by something else."""

    code = "taken"
    title = "This id or name is in use"


def answer_once(
    actor: User, request: Request, act: Callable[[], Response], prepare: Callable[[], None] | None = None
) -> Response:
    """The same Idempotency-Key gets the same reply, and nothing happens twice.

    The reply is stored in the transaction of its effect. A refusal is not stored: nothing was done, so it may be tried
    again with the same key. Two requests with one key wait for each other: a write holds the database's write lock.
    `prepare` is what takes long and writes nothing: it runs before the lock is taken, unless the reply is known.
    """
    key, request_hash = _key(request), _request_hash(request)
    if prepare is not None and not RememberedReply.objects.filter(user=actor, key=key).exists():
        prepare()
    try:
        with writing():
            known = RememberedReply.objects.filter(user=actor, key=key).first()
            if known is not None:
                return _again(known, request_hash)
            response = act()
            _remember(actor, key, request_hash, response)
    except IntegrityError as error:
        if not _is_unique_violation(error):
            raise
        raise Taken("Something else has this id or name already.") from error
    return response


def _remember(actor: User, key: str, request_hash: str, response: Response) -> None:
    RememberedReply.objects.create(
        user=actor,
        key=key,
        request_hash=request_hash,
        status=response.status_code,
        body=json.loads(JSONRenderer().render(response.data)),
        headers={name: response.headers[name] for name in KEPT_HEADERS if name in response.headers},
        at=now(),
    )


def _again(known: RememberedReply, request_hash: str) -> Response:
    if known.request_hash != request_hash:
        raise KeyUsedOtherwise("Make a new key for a new request.")
    return Response(known.body, status=known.status, headers={**known.headers, "Idempotent-Replayed": "true"})


def _key(request: Request) -> str:
    key = request.headers.get("Idempotency-Key", "")
    least, most = KEY_LENGTHS
    if not (least <= len(key) <= most and key.isascii() and key.isprintable() and " " not in key):
        message = f"Send an Idempotency-Key of {least} to {most} visible characters, made anew for each request."
        raise Invalid(message, [FieldError("Idempotency-Key", "is required", code="required")])
    return key


def _request_hash(request: Request) -> str:
    """Of method, address and content; files by what is in them."""
    content = json.dumps(_plain(request.data), sort_keys=True)
    parts = [request.method or "", request.get_full_path(), content]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _plain(data: Any) -> Any:
    if hasattr(data, "lists"):
        return {name: [_plain(value) for value in values] for name, values in data.lists()}
    if isinstance(data, UploadedFile):
        digest = hashlib.sha256()
        for chunk in data.chunks():
            digest.update(chunk)
        data.seek(0)
        return [data.name, digest.hexdigest()]
    return data


def _is_unique_violation(error: IntegrityError) -> bool:
    code = getattr(error.__cause__, "sqlstate", None)
    return code == UNIQUE_VIOLATION or "UNIQUE constraint failed" in str(error)
