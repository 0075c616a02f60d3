"""A database that threads share."""

from tests.threads import real_database as real_database
