"""`manage.py backup FOLDER`: database, files and a manifest; `--check` looks at one that was made."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.backup.actions import back_up
from shop.backup.reads import Damaged, looked_at


class Command(BaseCommand):
    help = (
        "Back up database and files into a new folder while people work. The data folder's key, sign-ins and "
        "letters are not in it; of the database all is: hashed passwords, the secrets of second factors, and the texts "
        "of letters with links that still open. Keep it as safe as the data."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument("--check", action="store_true", help="check a backup and write nothing")

    def handle(self, *args: Any, folder: Path, check: bool, **options: Any) -> None:
        try:
            manifest = looked_at(folder) if check else back_up(folder.absolute())
        except Damaged as error:
            for fault in error.faults:
                self.stderr.write(fault)
            raise CommandError("This backup is damaged." if check else "No backup was made.") from None
        rows = sum(table.rows for table in manifest.tables.values())
        told = f"{rows} rows in {len(manifest.tables)} tables and {len(manifest.files)} files of {manifest.made_at}"
        self.stdout.write(f"{told} are {'whole' if check else 'backed up'} in {folder}.")
        if manifest.lost:
            raise CommandError(f"Files that were lost before the backup: {', '.join(manifest.lost)}.")
