"""The WSGI entry point; a web server runs no start-up checks, so unsafe settings are refused here."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
application = get_wsgi_application()

from shop.health.apps import refuse_unsafe  # noqa: E402 - settings are read by then

refuse_unsafe()
