"""`manage.py take_out ARCHIVE.zip`: everything as CSV and JSON in one archive."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.takeout.actions import take_out
from shop.staff.reads import at_the_console
from shop.workshop.rules import Refused


class Command(BaseCommand):
    help = "Take everything out as CSV and JSON in one archive; no passwords, secrets or tokens."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("archive", type=Path)
        parser.add_argument("--by", help="The e-mail of who takes it out; the first lead without it.")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["archive"]
        part = path.with_name(f"{path.name}.part")
        if path.exists():
            raise CommandError(f"{path} is there already.")
        try:
            with part.open("wb") as file:
                manifest = take_out(by=at_the_console(options["by"]), file=file)
            part.rename(path)
        except OSError as fault:
            raise CommandError(f"{path}: {fault.strerror}.") from None
        except Refused as refused:
            raise CommandError(str(refused)) from None
        finally:
            part.unlink(missing_ok=True)
        for label, table in manifest["tables"].items():
            said = "can be read back" if table["read_back"] else "for reading only"
            self.stdout.write(f"{label}: {table['rows']} rows, {said}")
        self.stdout.write(manifest["note"])
