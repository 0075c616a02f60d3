"""`manage.py verify_record FILE`: whether a signed record was issued by the holder of a key, offline."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, connection

from shop.signing.reads import known_keys
from shop.signing.rules import SHOWS, checked, published
from shop.workshop.rules import Refused

NEEDED = (
    "Say whose public keys it is to be held against: --keys FILE, as the page /check/keys.json of the workshop gives "
    "them. Without it the keys of the workshop whose database EBBWRIGHT_DATA and EBBWRIGHT_DATABASE_URL name are "
    "taken, and there is none."
)


def _own_keys() -> dict[str, str]:
    name = connection.settings_dict["NAME"]
    if isinstance(name, Path) and not name.exists():  # or SQLite would make an empty one
        raise CommandError(NEEDED, returncode=2)
    try:
        return known_keys()
    except DatabaseError as error:
        raise CommandError(NEEDED, returncode=2) from error


class Command(BaseCommand):
    help = (
        "Check a signed record, against the keys of this workshop or those of a file that one has published."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--keys", type=Path, help="public keys, as the page /check/keys.json gives them")

    def handle(self, *args: Any, file: Path, keys: Path | None, **options: Any) -> None:
        try:
            content = file.read_bytes()
            found = checked(content, published(keys.read_bytes()) if keys else _own_keys())
        except OSError as error:
            raise CommandError(f"{error.filename} cannot be read.", returncode=2) from error
        except Refused as refused:
            raise CommandError(str(refused), returncode=1) from None
        self.stdout.write(f"The signature fits key {found.key}; SHA-256 of the record {found.digest}.")
        for each in SHOWS:
            self.stdout.write(each)
