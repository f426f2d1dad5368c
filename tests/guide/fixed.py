"""Fencerow's command line on one morning of the demo's season, so that pages look alike whenever they are asked for.

python -m tests.guide.fixed COMMAND …
"""

import os
import sys
from datetime import UTC, datetime

from orders.common import clock

AT = datetime(2027, 12, 14, 14, tzinfo=UTC)


def _now() -> datetime:
    return AT


if __name__ == "__main__":
    clock.now = _now  # before anything else takes the name from there
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(["manage.py", *sys.argv[1:]])
