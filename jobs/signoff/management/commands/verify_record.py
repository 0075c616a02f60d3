"""`manage.py verify_record FILE`: whether a signed record was issued by the holder of a key, offline."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.signing.reads import known_keys
from shop.signing.rules import SHOWS, checked, published
from shop.workshop.rules import Refused


class Command(BaseCommand):
    help = (
        "Check a signed record, against the keys of this workshop or those of a file that one has published."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--keys", type=Path, help="public keys, as the page /check/keys.json gives them")

    def handle(self, *args: Any, file: Path, keys: Path | None, **options: Any) -> None:
        try:
            found = checked(file.read_bytes(), published(keys.read_bytes()) if keys else known_keys())
        except OSError as error:
            raise CommandError(f"{error.filename} cannot be read.", returncode=2) from error
        except Refused as refused:
            raise CommandError(str(refused), returncode=1) from None
        self.stdout.write(f"The signature fits key {found.key}; SHA-256 of the record {found.digest}.")
        for each in SHOWS:
            self.stdout.write(each)
