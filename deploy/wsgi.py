"""The web application, for any WSGI server."""

import gc
import importlib
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
application = get_wsgi_application()
chart_svg = importlib.import_module("orders.desk.chart_svg")  # it can be read only after the settings
# What every request needs is loaded now and never looked through again for rubbish: a large page makes enough rows for
# that to take as long as the page itself. What draws pictures takes a second, which no reader should wait for.
_ = get_resolver().url_patterns
chart_svg.load()
gc.collect()
gc.freeze()
