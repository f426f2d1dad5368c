"""Rows of parts within a form: as many as stand, and empty ones behind them. More are asked for by a button, so that no
script is needed; a row whose key is empty is passed over."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms

from orders.common.errors import FieldError, Refusal

EMPTY, MORE, MOST = 2, 2, 60


class Rows:
    """`name` is the list that the service calls them, `key` the field without which a row says nothing."""

    def __init__(
        self,
        name: str,
        kind: type[forms.Form],
        data: Any,
        stands: Sequence[dict[str, Any]],
        key: str,
        empty: int = EMPTY,
        **more: Any,
    ) -> None:
        self.name, self.key = name, key
        count = _count(name, data, len(stands), empty)
        self.forms = [
            kind(data, initial=stands[number] if number < len(stands) else {}, prefix=f"{name}-{number}", **more)
            for number in range(count)
        ]

    def __iter__(self) -> Iterator[forms.Form]:
        return iter(self.forms)

    def __len__(self) -> int:
        return len(self.forms)

    def is_valid(self) -> bool:
        right = [self._is_right(form) for form in self.forms]  # all of them, so that all is told at once
        return all(right)

    def _is_right(self, form: forms.Form) -> bool:
        """What stands in a row that is passed over is not looked at."""
        if not form.data.get(form.add_prefix(self.key), "").strip():
            form.full_clean()
            form.errors.clear()
            return True
        return form.is_valid()

    @property
    def used(self) -> list[Any]:
        return [form for form in self.forms if form.data.get(form.add_prefix(self.key), "").strip()]

    def place(self, refusal: Refusal) -> None:
        """Put what a service says of one of them at its row; what is left stands above the form."""
        left: list[FieldError] = []
        for error in refusal.errors:
            of, _, name = error.field.partition(".")
            if of != self.name or error.row is None or error.row > len(self.used):
                left.append(error)
                continue
            row = self.used[error.row - 1]
            row.add_error(name if name in row.fields else None, error.message)
        refusal.errors[:] = left


def _count(name: str, data: Any, stands: int, empty: int) -> int:
    """A form that was sent has as many rows as it had, and more where they were asked for."""
    if data is None:
        return min(stands + empty, MOST)
    try:
        sent = int(data.get(f"{name}-rows", stands))
    except ValueError:
        sent = stands
    return max(1, min(sent + (MORE if data.get("more") == name else 0), MOST))
