"""A mail server of the test's own, and a database that threads share."""

from tests.servers import smtp_sink as smtp_sink
from tests.threads import real_database as real_database
