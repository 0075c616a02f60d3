"""`manage.py bench recompute`: whether the present methods would judge every stored attempt as it was judged."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.bench.methods.judging import Difference
from jobs.bench.models import Attempt
from jobs.bench.reads import every_attempt, recomputed

MOST_SHOWN = 200


class Command(BaseCommand):
    help = (
        "Compute every stored attempt again by the present methods, with its limits and its instrument's facts as stored; "
        "a line for each value that would differ, and exit code 1 when there is any. Nothing is changed."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", choices=["recompute"])

    def handle(self, *args: Any, **options: Any) -> None:
        looked_at = differ = 0
        for row in every_attempt():
            looked_at += 1
            found = recomputed(row)
            differ += bool(found)
            for each in found:
                self.stdout.write(_line(row, each))
        if differ:
            raise CommandError(f"{differ} of {looked_at} attempts would differ; nothing was changed.")
        self.stdout.write(f"{looked_at} attempts computed again, none would differ.")


def _line(row: Attempt, each: Difference) -> str:
    was, would_be = (
        text if len(text) <= MOST_SHOWN else f"{text[:MOST_SHOWN]}… ({len(text)} characters)"
        for text in (each.was, each.would_be)
    )
    return f"{row.uid}, job {row.round.job.number}, {row.key}: {each.what} was {was}, would be {would_be}"
