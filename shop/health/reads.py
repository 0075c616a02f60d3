"""Whether everything works together, and how much there is of everything."""

from functools import cache

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Count, Min
from django.db.models.functions import Now
from django.utils.module_loading import import_string

from shop.clocks.reads import due_by
from shop.health.models import Heartbeat
from shop.health.rules import FRESH, OVERDUE, Figure, State
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.post.rules import State as Stands
from shop.workshop.reads import now, today

WAITING = [Stands.NEW, Stands.TAKEN, Stands.SENDING, Stands.RETRY]


@cache
def last_migrations() -> frozenset[tuple[str, str]]:
    """The last migration of each room in this version."""
    return frozenset(MigrationLoader(None, ignore_no_migrations=True).graph.leaf_nodes())


def state() -> State:
    """What readiness asks, at this moment."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        if last_migrations() - set(MigrationRecorder(connection).applied_migrations()):
            return State(migrations=False)
        stuck = Letter.objects.filter(state__in=WAITING, due_at__lt=Now() - OVERDUE)
        alive = Heartbeat.objects.filter(at__gt=Now() - FRESH)
        return State(outbox=not stuck.exists(), heartbeat=alive.exists())
    except DatabaseError:
        return State(database=False)


def figures() -> list[Figure]:
    """What a machine watches; higher rooms add theirs as settings.FIGURES name them."""
    letters = dict(Letter.objects.values_list("state").annotate(Count("pk")))
    oldest = Letter.objects.filter(state__in=WAITING).aggregate(Min("written_at"))["written_at__min"]
    beat = Heartbeat.objects.first()
    found = [
        Figure("info", "This version.", label="version", values={settings.VERSION: 1}),
        Figure(
            "letters",
            "Letters by state.",
            label="state",
            values={each: letters.get(each, 0) for each in Stands},
        ),
        Figure(
            "oldest_waiting_letter_seconds",
            "How long ago the oldest letter was written that has not gone out and may still.",
            (now() - oldest).total_seconds() if oldest else 0,
        ),
        Figure("journal_entries", "Entries of the journal.", Entry.objects.count()),
        Figure("due_clocks", "Clocks that are due today or have no history.", due_by(today()).count()),
        Figure("database_bytes", "How large the database is.", database_bytes()),
        Figure(
            "heartbeat_age_seconds",
            "How long ago a worker last did what beat had asked for.",
            (now() - beat.at).total_seconds() if beat else None,
        ),
    ]
    return found + [figure for name in settings.FIGURES for figure in import_string(name)()]


def database_bytes() -> int:
    """The size that the engine names."""
    if connection.vendor == "sqlite":
        sql = "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    else:
        sql = "SELECT pg_database_size(current_database())"
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return int(cursor.fetchone()[0])
