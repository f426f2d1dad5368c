"""The wake-up: Celery only tells a worker that a row waits; the row itself is the job."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("fencerow")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
