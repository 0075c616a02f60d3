"""Clear away what erased rows left on the disk."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from jobs.rights.actions import sweep


class Command(BaseCommand):
    help = "Unlink files of erased customers; on SQLite, write the database anew so that no byte of what was erased is in it."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"{sweep()} files unlinked.")
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("INSERT INTO search_trigrams(search_trigrams) VALUES ('optimize')")
                cursor.execute("VACUUM")
            self.stdout.write("The database was written anew.")
        else:
            self.stdout.write(
                "Dead rows stay in the files of PostgreSQL until VACUUM FULL, and in its log until that is recycled."
            )
