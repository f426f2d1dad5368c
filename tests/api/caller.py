"""Somebody who calls the API: a user's client that makes its own Idempotency-Keys."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from rest_framework.test import APIClient

from orders.common.models import User
from tests import build


class Caller(APIClient):
    """`post` sends JSON with a new key unless one is given; `edit` sends what If-Match needs."""

    def __init__(self, user: User | None = None) -> None:
        super().__init__()
        self.user = user
        if user is not None:
            self.force_authenticate(user)

    def send(self, path: str, body: Any = None, *, key: str | None = None, **more: Any) -> Any:
        headers = {"Idempotency-Key": key or uuid4().hex, **more.pop("headers", {})}
        return self.post(path, {} if body is None else body, format="json", headers=headers, **more)

    def edit(self, path: str, body: Any, *, etag: str, method: str = "patch") -> Any:
        return getattr(self, method)(path, body, format="json", headers={"If-Match": etag})

    def rows(self, path: str) -> list[dict[str, Any]]:
        """All rows of a list, page by page."""
        found: list[dict[str, Any]] = []
        following: str | None = path
        while following:
            page = self.get(following)
            assert page.status_code == 200, page.json()
            found += page.json()["results"]
            following = page.json()["next"]
        return found


def error_fields(reply: Any) -> list[str]:
    """Which fields a problem names."""
    return [error["field"] for error in reply.json().get("errors", [])]


def tablet_line(user: User) -> Callable[[dict[str, Any]], dict[str, Any]]:
    """A line of its own for a new tablet of this person: sends a batch and gives what the server says."""
    token = uuid4().hex
    build.DeviceFactory(users=[user], name=user.username, token=token)
    client = APIClient(headers={"Authorization": f"Tablet {token}"})

    def send(batch: dict[str, Any]) -> dict[str, Any]:
        reply = client.post("/tablet/sync/commands", batch, format="json")
        assert reply.status_code == 200, reply.content
        told: dict[str, Any] = reply.json()
        return told

    return send
