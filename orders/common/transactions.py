"""The transaction of every domain write.

On PostgreSQL it begins by taking one advisory lock, so that writers go one after another, feed ids commit in order and
no two writers can wait for each other's rows. SQLite does the same by itself (IMMEDIATE). Reads never wait.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

WRITE_LOCK = 7_305_001  # any constant, the same in every process


@contextmanager
def writing() -> Iterator[None]:
    """Use as `with writing():` or `@writing()`; it nests as a savepoint."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [WRITE_LOCK])
        yield


@contextmanager
def reading() -> Iterator[None]:
    """Many reads of one state of the database, while writers go on. Inside a transaction that is open already, that
    one's state is read."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:  # Django would begin with the lock of a writer
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
