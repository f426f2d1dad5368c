"""One list of a program's documents, and the verb that adds an entry of it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from orders.common.stamp import Stamp
from orders.desk.documents import Entry, Rows


@dataclass(frozen=True)
class Subject:
    """`key` is the field by which later entries name a row of this list; empty where none does."""

    file: str
    name: str
    key: str
    add: Callable[[Entry, Rows, Stamp], Any]
