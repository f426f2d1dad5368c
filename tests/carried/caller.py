"""A tablet that asks for its work."""

from typing import Any

from tests import build

TOKEN = "invented-token"
WORK = "/tablet/sync/work"


def device_of(*users: Any, **facts: Any) -> Any:
    """Enrolled for the people given."""
    return build.DeviceFactory(token=TOKEN, users=users, **facts)


def asked(client: Any, known: dict[str, str] | None = None, token: str = TOKEN) -> Any:
    body = {"known": known or {}, "documents": []}
    headers = {"Authorization": f"Tablet {token}"}
    return client.post(WORK, body, content_type="application/json", headers=headers)


def package(client: Any, known: dict[str, str] | None = None) -> dict[str, Any]:
    reply = asked(client, known)
    assert reply.status_code == 200, reply.content
    found: dict[str, Any] = reply.json()
    return found
