"""Canonical JSON (RFC 8785), Ed25519 signatures over it (RFC 8032), and what a signed file must hold. Pure."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from shop.workshop.rules import Refusal, Refused

ALGORITHM, CANONICAL = "Ed25519", "RFC 8785"
MOST_BYTES = 4_000_000
SHOWS = (
    "A signature that fits shows one thing: whoever held this key issued exactly this record.",
    "It does not show that the gear is safe today, that the record is true, or that nothing was found later.",
)


@dataclass(frozen=True)
class Checked:
    """A record whose signature fits, with the key that it fits and the SHA-256 of the canonical record."""

    record: dict[str, Any]
    key: str
    digest: str


def canonical_json(value: Any) -> str:
    """A value as RFC 8785 writes it; raises ValueError for what has no such form (NaN, integers from 2**53 on)."""
    return rfc8785.dumps(value).decode()


def public_of(seed: bytes) -> str:
    """The public key of a private one of 32 bytes, in hex."""
    return Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw().hex()


def key_name(public: str) -> str:
    """What a key is called: the first 16 digits of the SHA-256 of the public key's bytes."""
    return hashlib.sha256(bytes.fromhex(public)).hexdigest()[:16]


def signature_of(seed: bytes, text: str) -> str:
    """The signature over a text in UTF-8, in hex."""
    return Ed25519PrivateKey.from_private_bytes(seed).sign(text.encode()).hex()


def fits(public: str, text: str, signature: str) -> bool:
    """Whether a signature in hex is that of a text in UTF-8 by the key; nonsense does not fit."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(
            bytes.fromhex(signature), text.encode()
        )
    except (InvalidSignature, ValueError):
        return False
    return True


def signed_file(text: str, *, key: str, public: str, signature: str) -> str:
    """The file that goes with the gear: the record with its signature beside it, canonical as a whole."""
    beside = {"algorithm": ALGORITHM, "canonical": CANONICAL, "key": key, "public": public}
    return canonical_json({"record": json.loads(text), "signature": beside | {"value": signature}})


def checked(raw: bytes, keys: Mapping[str, str]) -> Checked:
    """A signed file, looked at with the public keys of its workshop by their names; raises Refused with the reason.

    The key is taken from `keys`: what the file says of its key is only compared, so that no file vouches for itself.
    """
    try:
        record, beside = _halves(raw)
        text = canonical_json(record)
    except (ValueError, RecursionError):  # UnicodeDecodeError and JSONDecodeError are ValueErrors
        raise Refused([Refusal("no-signed-file", "It is not a signed record.", "file")]) from None
    public = keys.get(str(beside.get("key")))
    if public is None or beside.get("public") != public:
        raise Refused([Refusal("unknown-key", "It was not signed with a key of this workshop.", "file")])
    if not fits(public, text, str(beside.get("value"))):
        said = "The signature does not fit: what is in the file is not what was signed."
        raise Refused([Refusal("altered", said, "file")])
    return Checked(record, str(beside["key"]), hashlib.sha256(text.encode()).hexdigest())


def _halves(raw: bytes) -> tuple[dict[str, Any], dict[str, Any]]:
    """The record and the signature of a file; raises ValueError for everything else."""
    if len(raw) > MOST_BYTES:
        raise ValueError("too long")
    found = json.loads(raw.decode(), object_pairs_hook=_once_each)
    if not isinstance(found, dict) or set(found) != {"record", "signature"}:
        raise ValueError("not a record and a signature")
    record, beside = found["record"], found["signature"]
    if not isinstance(record, dict) or not isinstance(beside, dict):
        raise ValueError("not two objects")
    if (beside.get("algorithm"), beside.get("canonical")) != (ALGORITHM, CANONICAL):
        raise ValueError("signed in another way")
    return record, beside


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose names are all different: of two with one name, readers would see different ones."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name stands twice")
    return found


def published(raw: bytes) -> dict[str, str]:
    """The public keys by their names from the file that the workshop publishes; raises Refused for anything else."""
    try:
        rows = json.loads(raw.decode())["keys"]
        return {key_name(row["public"]): row["public"] for row in rows}
    except (ValueError, RecursionError, KeyError, TypeError):
        raise Refused([Refusal("no-keys", "It is not the list of keys that a workshop publishes.")]) from None
