"""The code that opens the page of the first login: who starts the server reads it there, so that nobody who merely
reaches a new program can make it their own."""

import hashlib
import hmac
from base64 import b32encode

from django.conf import settings

LEAST = 12  # characters: 60 bits of the made one


def first_code() -> str:
    """The one of the settings, else one that follows from the secret key: the same for every process of a server."""
    named = str(settings.FIRST_RUN_CODE)
    if named:
        return named
    made = hmac.new(settings.SECRET_KEY.encode(), b"the first login", hashlib.sha256).digest()
    text = b32encode(made).decode()[:LEAST]
    return f"{text[:4]}-{text[4:8]}-{text[8:]}"


def first_code_is(text: str) -> bool:
    """Capitals, spaces and hyphens do not matter: it is typed off a screen. A code too short opens nothing."""
    wanted = _plain(first_code())
    return len(wanted) >= LEAST and hmac.compare_digest(_plain(text).encode(), wanted.encode())


def _plain(text: str) -> str:
    return "".join(text.split()).replace("-", "").upper()
