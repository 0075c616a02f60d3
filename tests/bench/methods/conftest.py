"""Pure computation asks nothing of an engine, so one of the two runs over it."""

from django.db import connection

collect_ignore_glob = [] if connection.vendor == "sqlite" else ["test_*.py"]
