#!/usr/bin/env python3
"""Django's command line for Ebbwright."""

import os
import sys

from django.core.management import execute_from_command_line
from django.db.utils import OperationalError, ProgrammingError

NO_TABLES = "The database has not the tables that this needs. Run `python manage.py migrate` first."

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    try:
        execute_from_command_line(sys.argv)
    except (OperationalError, ProgrammingError) as fault:
        if "no such table" not in str(fault) and "UndefinedTable" not in repr(fault.__cause__):
            raise
        sys.exit(f"{str(fault).splitlines()[0]}\n{NO_TABLES}")
