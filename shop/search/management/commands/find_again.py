"""`manage.py find_again`: make what can be found agree with what stands in the rooms."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils.module_loading import import_string

from shop.search.actions import find_again


class Command(BaseCommand):
    help = "Make what can be found again from what stands in every room; people may work meanwhile."

    def handle(self, *args: Any, **options: Any) -> None:
        count = find_again(sources=[import_string(name)() for name in settings.FINDABLE])
        self.stdout.write(f"{count} rows were wrong and are right now.")
