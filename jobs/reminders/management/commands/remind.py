"""`manage.py remind --on DATE [--dry-run]`: write and send the letters of a day."""

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.reminders.actions import remind
from jobs.reminders.reads import owed, times
from shop.post.actions import send_waiting
from shop.workshop.reads import at, noon, today


class Command(BaseCommand):
    help = "Write one letter per customer whose clocks fall due, and send what waits in the outbox."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--on", help="The day to write for, like 2026-05-01; today without it.")
        parser.add_argument(
            "--dry-run", action="store_true", help="Say what would be written and write nothing."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            on = date.fromisoformat(options["on"]) if options["on"] else today()
        except ValueError:
            raise CommandError(f"{options['on']!r} is not a date like 2026-05-01.") from None
        with at(noon(on)):
            when = times()
            if not when.open_on(on):
                self.stdout.write(f"{on} is a closed day: no letter is written.")
                return
            if options["dry_run"]:
                for customer, clocks in owed(on)[: when.most]:
                    self.stdout.write(f"Would write to {customer.label}: {len(clocks)} due.")
                return
            written = remind(on=on)
        self.stdout.write(f"{written} letters written, {send_waiting()} sent.")
