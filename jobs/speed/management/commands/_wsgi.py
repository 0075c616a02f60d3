"""The product as it is served, with the raw queue beside it."""

import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
settings.ROOT_URLCONF = "jobs.speed.management.commands._raw"
application = get_wsgi_application()
