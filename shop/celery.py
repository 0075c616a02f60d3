"""The Celery application: it wakes up work that waits in the database."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
app = Celery("ebbwright")
app.config_from_object("django.conf:settings.CELERY")
app.autodiscover_tasks()
