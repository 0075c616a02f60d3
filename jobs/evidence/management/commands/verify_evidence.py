"""`manage.py verify_evidence FILE`: whether an archive of evidence is whole and as it was taken out, offline."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.evidence.reads import faults_of
from jobs.evidence.rules import SHOWS
from shop.signing.reads import known_keys
from shop.signing.rules import published
from shop.workshop.rules import Refused


class Command(BaseCommand):
    help = "Check an archive of evidence: its signature, every hash of the journal's rows, custody, photographs, closed records."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--keys", type=Path, help="public keys, as the page /check/keys.json gives them")

    def handle(self, *args: Any, file: Path, keys: Path | None, **options: Any) -> None:
        try:
            found = faults_of(file, published(keys.read_bytes()) if keys else known_keys())
        except OSError as error:
            raise CommandError(f"{error.filename} cannot be read.", returncode=2) from error
        except Refused as refused:
            raise CommandError(str(refused), returncode=1) from None
        for fault in found:
            self.stderr.write(fault)
        if found:
            raise CommandError(f"{len(found)} faults.", returncode=1)
        self.stdout.write("The signature fits, and every row, photograph and record is as it was taken out.")
        for each in SHOWS:
            self.stdout.write(each)
