"""A database that threads share, and a way to put things straight into what can be found."""

from tests.threads import real_database as real_database
