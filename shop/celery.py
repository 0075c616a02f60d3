"""The Celery application: it wakes up work that waits in the database."""

import os

from celery import Celery
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
app = Celery("ebbwright")
app.conf.update(settings.CELERY)
app.autodiscover_tasks()
