"""Sessions that two requests of one browser may change at once.

Django's own store writes the whole session at the end of a request, so of two that overlap the later one takes back
what the other had put in: marks that a script keeps would undo what the same press of a button has just done. Here only
what a request itself changed is written, over what the session holds by then.
"""

from copy import deepcopy
from typing import Any

from django.contrib.sessions.backends import db
from django.db import transaction


class SessionStore(db.SessionStore):
    """Named as Django's is: the name salts what is kept, and sessions of before stay good."""

    def __init__(self, session_key: str | None = None) -> None:
        super().__init__(session_key)
        self._was: dict[str, Any] = {}  # as it was read

    def load(self) -> dict[str, Any]:
        found = super().load()
        self._was = deepcopy(found)
        return found

    def create(self) -> None:
        super().create()
        self._was = {}  # nothing of it is in the new row yet

    def save(self, must_create: bool = False) -> None:
        if must_create or self.session_key is None:
            super().save(must_create)
            return
        mine = dict(self.items())
        with transaction.atomic():
            row = self.model.objects.select_for_update().filter(session_key=self.session_key).first()
            if row is not None:
                self._session_cache = self._merged(mine, self.decode(row.session_data))
            super().save()
        self._was = deepcopy(dict(self.items()))

    def _merged(self, mine: dict[str, Any], held: dict[str, Any]) -> dict[str, Any]:
        changed = {key for key in {*self._was, *mine} if self._was.get(key) != mine.get(key)}
        left = {key: value for key, value in held.items() if key not in changed}
        return {**left, **{key: mine[key] for key in changed if key in mine}}
