"""Make an installation ready to start: a backup and the migrations if the database is of an older version, then the
static files. For one process at a time, before the web server, the worker and the clock start.

    python -m deploy.lib.prepare
"""

import os
import sys
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from deploy.lib.backup import current_store, make_backup
from deploy.lib.stores import StoreError


def migrations_wait() -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    try:
        if migrations_wait():
            if not current_store().is_empty():
                print(f"Saved the database as it was in {make_backup(Path(settings.DATA_DIR) / 'backups')}.")
            call_command("migrate", interactive=False)
    except StoreError as error:
        print(f"Not migrated, because the backup before it failed. {error}", file=sys.stderr)
        return 1
    call_command("collectstatic", interactive=False, verbosity=0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
