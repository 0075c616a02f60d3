"""`manage.py bring_in FILE`: customers, items or past services from a CSV or an XLSX."""

import zipfile
from collections import Counter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.batches.actions import begin, set_columns, upload
from jobs.batches.models import Batch, Finding
from jobs.batches.rules import State, What, fields, guess, lacking, likeliest
from jobs.bringin.actions import go_on
from jobs.bringin.reads import Found, Judge, chunks
from jobs.takeout.actions import MANIFEST, read_back
from shop.sheets.reads import Sheet
from shop.sheets.rules import BadSheet
from shop.staff.reads import at_the_console
from shop.workshop.rules import Refused

BAR = 40


class Command(BaseCommand):
    help = "Bring in customers, items or past services; the columns are guessed, and said."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--what", choices=[str(what) for what in What], help="Guessed without it.")
        parser.add_argument(
            "--map", action="append", default=[], metavar="COLUMN=FIELD",
            help="Which field a column tells; COLUMN= alone leaves it out. May be given again.",
        )  # fmt: skip
        parser.add_argument("--dry-run", action="store_true", help="List what is wrong, and write nothing.")
        parser.add_argument(
            "--good-rows", action="store_true", help="Bring in the good rows in spite of bad ones."
        )
        parser.add_argument("--by", help="The e-mail of who brings it in; the first lead without it.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if is_archive(options["file"]):
                self.read_back(options)
                return
            raw = options["file"].read_bytes()
            sheet = Sheet(raw)
            what = What(options["what"] or likeliest(sheet.columns))
            mapping = mapped(guess(what, sheet.columns), options["map"], sheet.columns, fields(what))
            self.stdout.write(f"{options['file'].name}: {what}, {sheet.encoding}.")
            if sheet.encoding == "cp1252":
                self.stdout.write("It is not UTF-8, so it was read as Windows-1252: look at the accents.")
            for column in filter(None, sheet.columns):
                field = next((name for name, taken in mapping.items() if taken == column), "left out")
                self.stdout.write(f"  {column} -> {field}")
            if options["dry_run"]:
                self.dry_run(sheet, what, mapping)
            else:
                self.bring_in(options, what, mapping, raw)
        except OSError as fault:
            raise CommandError(f"{options['file']}: {fault.strerror}.") from None
        except BadSheet as fault:
            raise CommandError(f"{options['file'].name} cannot be read. {fault}") from None
        except Refused as refused:
            raise CommandError(" ".join(refusal.sentence for refusal in refused.refusals)) from None

    def read_back(self, options: dict[str, Any]) -> None:
        """What was taken out, into an empty workshop."""
        if options["dry_run"] or options["map"] or options["what"]:
            raise CommandError("An archive that was taken out is read back as it is, without any option.")
        with options["file"].open("rb") as file:
            counts = read_back(by=at_the_console(options["by"]), file=file)
        for label, count in counts.items():
            self.stdout.write(f"{label}: {count} rows read back")
        self.stdout.write(
            "All else in the archive is for reading only: jobs, records, journal, plans, people, stock."
        )

    def dry_run(self, sheet: Sheet, what: What, mapping: dict[str, str]) -> None:
        """Judge every row and write nothing, not even a batch."""
        if faults := lacking(what, mapping):
            raise Refused(faults)
        judge, rows, good_rows, found = Judge(what, sheet.columns, mapping), 0, 0, list[Found]()
        for chunk in chunks(sheet, what, mapping):
            good, said = judge.judge(chunk)
            rows, good_rows, found = rows + len(chunk), good_rows + len(good), found + said
        self.tell(sorted(found, key=lambda each: (not each.bad, each.line)))
        self.stdout.write(f"Dry run: {good_rows} of {rows} rows are good, {rows - good_rows} bad.")

    def bring_in(self, options: dict[str, Any], what: What, mapping: dict[str, str], raw: bytes) -> None:
        """The same steps as on the page; what was cut goes on where it stood."""
        by = at_the_console(options["by"])
        batch = upload(by=by, what=what, name=options["file"].name, raw=raw)
        if batch.state == State.DONE:
            self.stdout.write(f"This file was brought in before, {batch.made} rows of it; nothing was done.")
            return
        if batch.state != State.BRINGING:
            set_columns(by=by, batch=batch, mapping=mapping)
            batch = go_on(batch, tell=self.progress)
            self.tell(list(batch.findings.order_by("pk")))
            begin(by=by, batch=batch, good_rows=options["good_rows"])
        else:
            self.stdout.write(f"It was cut off after {batch.passed} of {batch.rows} rows; going on.")
        batch = go_on(batch, tell=self.progress)
        self.stdout.write(f"{batch.made} of {batch.rows} rows brought in, {batch.bad} bad left out.")

    def tell(self, found: list[Found] | list[Finding]) -> None:
        """Every bad row and every note."""
        for each in found:
            where = f"line {each.line}" + (f", {each.column}" if each.column else "")
            self.stdout.write(f"{'bad' if each.bad else 'note'}: {where}: {each.said}")
        count = Counter(each.bad for each in found)
        self.stdout.write(f"{count[True]} faults, {count[False]} look-alikes.")

    def progress(self, batch: Batch) -> None:
        """A bar, for whoever looks on."""
        if self.stderr.isatty():
            full = BAR * batch.passed // max(batch.rows, 1)
            end = "\n" if batch.passed == batch.rows and batch.state == State.DONE else ""
            self.stderr.write(f"\r{batch.state} [{'#' * full:{BAR}}] {batch.passed}/{batch.rows}", ending=end)


def is_archive(path: Path) -> bool:
    """Whether a file is what `take_out` wrote; an XLSX is a zip too."""
    if not zipfile.is_zipfile(path):
        return False
    with zipfile.ZipFile(path) as packed:
        return MANIFEST in packed.namelist()


def mapped(guessed: dict[str, str], given: list[str], columns: list[str], names: list[str]) -> dict[str, str]:
    """The guess as corrected by COLUMN=FIELD."""
    for each in given:
        column, _, name = each.rpartition("=")
        if column not in columns:
            raise CommandError(f"The file has no column {column!r}.")
        if name and name not in names:
            raise CommandError(f"There is no field {name!r}: {', '.join(names)}.")
        guessed = {key: taken for key, taken in guessed.items() if taken != column and key != name}
        guessed |= {name: column} if name else {}
    return guessed
