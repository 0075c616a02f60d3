"""A database that other processes share."""

from tests.threads import real_database as real_database
