"""A database that threads share; days that may be booked."""

from tests.threads import real_database as real_database
