"""Files of reports are kept for a time; what was asked for, and its sum, stay."""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from orders.common.models.run import CANCELED, DONE, FAILED
from orders.reports.models import ExportRun


def exports_remove_old(*, at: datetime) -> int:
    """Remove the folders of runs that ended longer ago than files are kept. Returns how many files went."""
    before = at - timedelta(days=settings.EXPORT_DAYS)
    over = ExportRun.objects.filter(state__in=[DONE, FAILED, CANCELED], finished_at__lt=before).exclude(file_path="")
    removed = 0
    for run in over.order_by("id"):
        shutil.rmtree(Path(settings.EXPORT_DIR) / str(run.public_id), ignore_errors=True)
        removed += ExportRun.objects.filter(pk=run.pk).update(file_path="")
    return removed
