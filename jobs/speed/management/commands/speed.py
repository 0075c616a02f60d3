"""`manage.py speed --jobs N`: fill an empty database with a workshop of that size and measure ours beside raw SQL."""

from itertools import chain
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.test.utils import override_settings

from jobs.speed.management.commands._http import served
from jobs.speed.management.commands._questions import Machine, questions
from jobs.speed.management.commands._rows import fill
from jobs.speed.management.commands._side_by_side import timed
from jobs.speed.management.commands._sql import Size
from jobs.speed.management.commands._writes import check_in, due_run
from jobs.speed.rules import told
from shop.staff.models import Person
from shop.workshop.reads import workshop

LEAST, MOST = 100, 1_500_000


class Command(BaseCommand):
    help = "Fill an empty database with made-up rows and print how long things take, beside raw SQL in the same run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--jobs", type=int, default=1000, help=f"How many jobs, {LEAST} to {MOST}.")
        parser.add_argument("--rounds", type=int, default=50, help="How often each question is put.")
        parser.add_argument(
            "--http", action="store_true", help="Put the queue over HTTP too, to two processes."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if workshop():
            raise CommandError("A workshop is open here: speed fills an empty database only.", returncode=3)
        if not LEAST <= options["jobs"] <= MOST:
            raise CommandError(f"Between {LEAST} and {MOST} jobs can be filled.")
        size, people = Size(options["jobs"]), list[Person]()
        took = timed(lambda: people.append(fill(size)))
        self.stdout.write(
            f"{connection.vendor}: {size.jobs} jobs, {size.items} items, {size.open} open jobs, filled in {took / 1000:.0f} s"
        )
        person = people[0]
        machine, busy = Machine(person), Machine(Person.objects.get(email="t1@speed.example"))
        if options["http"]:
            for line in served(machine.token):
                self.stdout.write(line)
        with override_settings(ROOT_URLCONF="jobs.speed.management.commands._raw"):
            for row in chain(
                questions(size, machine, person, busy, options["rounds"]),
                check_in(machine, size, person, options["rounds"]),
                due_run(options["rounds"]),
            ):
                self.stdout.write("\n".join(told(row)))
                self.stdout.flush()
