"""Is the process up, and can it serve? For whatever watches it."""

from typing import Any

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.base import Endpoint
from orders.common.appendonly import triggers_missing
from orders.common.clock import now
from orders.common.runs import runs_due


class Healthz(Endpoint):
    endpoint = "healthz"
    schema = None
    authentication_classes = ()
    throttle_classes = ()

    def get(self, request: Request) -> Response:
        return Response({"status": "ok"})


class Readyz(Endpoint):
    """503 until the database answers, is migrated, and keeps its records append-only. A worker that is behind is told,
    but the pages can be served without it."""

    endpoint = "readyz"
    schema = None
    authentication_classes = ()
    throttle_classes = ()

    def get(self, request: Request) -> Response:
        told = readiness()
        ready = told["problems"] == []
        return Response({"status": "ready" if ready else "not ready", **told}, status=200 if ready else 503)


def readiness() -> dict[str, Any]:
    try:
        problems = _problems()
        waiting = _waiting_seconds() if not problems else None
    except DatabaseError:
        return {"problems": ["the database does not answer"], "oldest_waiting_run_seconds": None}
    return {"problems": problems, "oldest_waiting_run_seconds": waiting}


def _problems() -> list[str]:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return ["migrations are missing; run manage.py migrate"]
    return [f"table {table} is not append-only; run manage.py migrate" for table in triggers_missing()]


def _waiting_seconds() -> int | None:
    """How long the longest waiting background run has waited; None where none waits."""
    at = now()
    asked = [run.asked_at for run in runs_due(at=at)]
    return int((at - min(asked)).total_seconds()) if asked else None
