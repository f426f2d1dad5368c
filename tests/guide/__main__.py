"""Take the pictures of the guides from the demo:

.venv/bin/python -m tests.guide [DATA FOLDER OF A DEMO] [--only NAME]

Without a folder the demo is walked first. It is copied: what is given stays as it is.
"""

import os

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    from tests.guide.taking import main

    main()
