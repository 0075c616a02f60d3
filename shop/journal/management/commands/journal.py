"""`manage.py journal verify`: recompute every chain."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.journal.apps import missing_triggers
from shop.journal.models import Entry
from shop.journal.reads import faults


class Command(BaseCommand):
    help = "Recompute the hash chains of the journal; exit code 1 and a line for each fault."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", choices=["verify"])

    def handle(self, *args: Any, **options: Any) -> None:
        found = [
            *(f"trigger {name} is missing" for name in missing_triggers()),
            *faults(),
        ]
        for fault in found:
            self.stderr.write(fault)
        if found:
            raise CommandError(f"{len(found)} faults in {Entry.objects.count()} entries.")
        self.stdout.write(f"{Entry.objects.count()} entries, every chain holds.")
