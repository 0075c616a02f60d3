"""A hasher that remembers what it was given."""

from typing import ClassVar

from django.contrib.auth.hashers import MD5PasswordHasher


class Counting(MD5PasswordHasher):
    """The tests' quick hasher, with a list of all that was hashed, to keep or to compare."""

    seen: ClassVar[list[str]] = []

    def encode(self, password: str, salt: str) -> str:
        self.seen.append(password)
        return super().encode(password, salt)
