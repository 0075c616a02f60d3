"""What a signed file must hold before its record is called issued."""

import json
from typing import Any

import pytest

from shop.signing.rules import MOST_BYTES, checked, key_name, public_of, published, signature_of, signed_file
from shop.workshop.rules import Refused

SEED = bytes(range(32))
PUBLIC = public_of(SEED)
KEY = key_name(PUBLIC)
TEXT = '{"item":{"number":"E-00001"},"words":"Ängstlich 🫧"}'
FILE = signed_file(TEXT, key=KEY, public=PUBLIC, signature=signature_of(SEED, TEXT))
OTHER = bytes(range(1, 33))


def changed(**half: Any) -> bytes:
    """The file with something else in its record or its signature."""
    found = json.loads(FILE)
    for name, values in half.items():
        found[name] |= values
    return json.dumps(found).encode()


def test_it_works() -> None:
    found = checked(FILE.encode(), {KEY: PUBLIC})

    assert found.record == json.loads(TEXT)
    assert found.key == KEY


def test_it_does_not_mind_how_the_file_is_set_out() -> None:
    assert checked(json.dumps(json.loads(FILE), indent=4).encode(), {KEY: PUBLIC}).key == KEY


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"", "no-signed-file"),
        (b"\xff\xfe", "no-signed-file"),
        (b"[]", "no-signed-file"),
        (b"[" * 100_000, "no-signed-file"),
        (b'{"record":{},"signature":[]}', "no-signed-file"),
        (b'{"record":{},"record":{},"signature":{}}', "no-signed-file"),
        (FILE.encode() + b" " * MOST_BYTES, "no-signed-file"),
        (changed(signature={"algorithm": "none"}), "no-signed-file"),
        (changed(record={"n": float("nan")}), "no-signed-file"),
        (changed(record={"n": 2**60}), "no-signed-file"),
        (changed(record={"words": "Calm"}), "altered"),
        (changed(record={"more": ""}), "altered"),
        (changed(signature={"value": ""}), "altered"),
        (changed(signature={"value": "é" * 128}), "altered"),
        (changed(signature={"value": None}), "altered"),
        (changed(signature={"value": signature_of(OTHER, TEXT)}), "altered"),
        (changed(signature={"key": "0" * 16}), "unknown-key"),
        (changed(signature={"key": None}), "unknown-key"),
        (changed(signature={"public": public_of(OTHER)}), "unknown-key"),
    ],
)
def test_it_says_why_a_file_is_no_record_of_ours(raw: bytes, code: str) -> None:
    with pytest.raises(Refused) as refused:
        checked(raw, {KEY: PUBLIC})

    assert [refusal.code for refusal in refused.value.refusals] == [code]


def test_it_lets_no_file_vouch_for_itself() -> None:
    """A stranger's key is named and shown in the file, and fits: it is not one of the workshop's."""
    public = public_of(OTHER)
    forged = signed_file(TEXT, key=key_name(public), public=public, signature=signature_of(OTHER, TEXT))

    with pytest.raises(Refused, match="not signed with a key of this workshop"):
        checked(forged.encode(), {KEY: PUBLIC})


@pytest.mark.parametrize("raw", [b"", b"[]", b'{"keys":3}', b'{"keys":[{}]}', b'{"keys":[{"public":"zz"}]}'])
def test_it_refuses_what_is_no_list_of_keys(raw: bytes) -> None:
    with pytest.raises(Refused):
        published(raw)
