"""Bodies that are made to hurt, at the running server: refused, soon, and without its memory growing."""

import sys
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
import requests

from shop.staff.actions import make_token
from shop.staff.models import Person
from shop.staff.rules import RIGHTS, Role
from tests.fuzz.served import Served, serving

MOST_S, MOST_MB = 0.2, 50
FULL = 2_499_000  # bytes, just below what a body may have


def filled(start: bytes, part: bytes, end: bytes) -> bytes:
    """As much of a part as fits into a body."""
    return start + part * ((FULL - len(start) - len(end)) // len(part)) + end


def names(count: int) -> bytes:
    """An object of so many names."""
    return b"{" + b",".join(b'"%x":1' % i for i in range(count)) + b"}"


BODIES = {
    "depth 10 000": b'{"name":' + b"[" * 10_000 + b"]" * 10_000 + b"}",
    "objects 10 000 deep": b'{"name":' * 10_000 + b"1" + b"}" * 10_000,
    "deep as it fits": filled(b"", b"[", b""),
    "1e400": b'{"name": 1e400}', "NaN": b'{"name": NaN}', "Infinity": b'{"name": -Infinity}',
    "a name twice": b'{"kind": "person", "name": "a", "name": "b"}',
    "a name as often as it fits": filled(b"{", b'"a":1,', b'"a":1}'),
    "lone surrogate": b'{"kind": "person", "name": "\\ud800"}',
    "lone surrogate as a name": b'{"\\udfff": 1}',
    "bytes of a surrogate": b'{"kind": "person", "name": "\xed\xa0\x80"}',
    "NUL": b'{"kind": "person", "name": "a\\u0000b"}', "NUL as a byte": b'{"kind": "person", "name": "a\0b"}',
    "BOM": b'\xef\xbb\xbf{"kind": "person", "name": "a"}', "UTF-16": '{"kind": "person", "name": "a"}'.encode("utf-16"),
    "huge integer": filled(b'{"name": ', b"9", b"}"), "4000 digits": b'{"kind": "person", "name": "a", "reminders": ' + b"9" * 4000 + b"}",
    "small and long": filled(b'{"name": 0.', b"0", b"1}"), "huge exponent": b'{"name": 1e999999999999999999}',
    "a million names": names(1_000_000), "names as fit": names(250_000),
    "lists as fit": filled(b'{"name": [', b"[],", b"[]]}"), "objects as fit": filled(b'{"name": [', b"{},", b"{}]}"),
    "numbers as fit": filled(b'{"name": [', b"1,", b"1]}"), "texts as fit": filled(b'{"name": [', b'"",', b'""]}'),
    "one text": filled(b'{"kind": "person", "name": "', b"x", b'"}'),
    "escapes": filled(b'{"kind": "person", "name": "', b"\\u00e9", b'"}'),
}  # fmt: skip


@pytest.fixture
def served(transactional_db: None, people: dict[str, Person], tmp_path: Path) -> Iterator[Served]:
    """A server that knows the people."""
    with serving(tmp_path) as found:
        yield found


def test_it_works(people: dict[str, Person], served: Served) -> None:
    _, secret = make_token(
        by=people["counter"], label="x", scopes=[str(right) for right in RIGHTS[Role.COUNTER]], days=1
    )
    served.put_back()
    headers = {"Authorization": f"Token {secret}", "Content-Type": "application/json"}

    def sent(body: bytes) -> tuple[int, float]:
        """The status, and the processor's time that it took."""
        headers["Idempotency-Key"] = f'"{uuid4()}"'
        before = served.worked_s()
        answer = requests.post(f"{served.url}/api/v1/customers", body, headers=headers, timeout=60)
        return answer.status_code, served.worked_s() - before

    assert sent(b'{"kind": "person", "name": "Ada Merrow"}')[0] == 201
    before = served.memory_mb()
    found = {name: sent(body) for name, body in BODIES.items()}
    grown = served.memory_mb() - before
    sys.stdout.write(f"{found}; memory grew by {grown:.0f} MB\n")

    assert {name: status for name, (status, _) in found.items() if status not in (400, 413)} == {}
    assert {name: seconds for name, (_, seconds) in found.items() if seconds > MOST_S} == {}
    assert grown <= MOST_MB
