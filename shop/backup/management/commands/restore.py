"""`manage.py restore FOLDER`: a backup into an empty database and an empty data folder."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.backup.actions import restore
from shop.backup.reads import Damaged


class Command(BaseCommand):
    help = (
        "Restore a backup into an empty place; it is checked before anything is written, and compared after."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        try:
            manifest = restore(folder)
        except Damaged as error:
            for fault in error.faults:
                self.stderr.write(fault)
            raise CommandError("The backup was not restored.") from None
        self.stdout.write(
            f"Restored what was backed up on {manifest.made_at}: every table and file is as the backup states, "
            "the triggers stand, every chain of the journal holds. Look at the letters that wait before a worker "
            "starts: those that were sent after the backup would be sent again."
        )
        if manifest.lost:
            self.stderr.write(f"Files that were lost before the backup: {', '.join(manifest.lost)}.")
