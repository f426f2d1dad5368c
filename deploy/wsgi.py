"""The web application, for any WSGI server."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
application = get_wsgi_application()
# What every request needs is loaded now and never looked through again for rubbish: a large page makes enough rows for
# that to take as long as the page itself.
_ = get_resolver().url_patterns
gc.collect()
gc.freeze()
