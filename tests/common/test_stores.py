"""A backup of SQLite holds what is in it, also where a table's rule is written with a function of Django's."""

import sqlite3
from contextlib import closing

from django.db.backends.sqlite3._functions import register  # type: ignore[import-untyped]

from deploy.lib.stores import SqliteStore

SPAN = "CREATE TABLE span (a TEXT, b TEXT, CHECK (django_date_extract('year', a) = django_date_extract('year', b)))"


def test_it_saves_a_database_with_a_rule_of_djangos(tmp_path):
    with closing(sqlite3.connect(tmp_path / "live")) as live:
        register(live)
        live.execute(SPAN)
        live.execute("INSERT INTO span VALUES ('2027-01-01', '2027-12-31')")
        live.commit()
    SqliteStore(tmp_path / "live").dump(tmp_path / "copy")
    with closing(sqlite3.connect(tmp_path / "copy")) as copy:
        assert copy.execute("SELECT count(*) FROM span").fetchone() == (1,)
