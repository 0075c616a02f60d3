"""The chain of the journal, and the SQL that makes a table append-only. Pure."""

import hashlib
import json
import re
from typing import Any

from shop.workshop.rules import money

BEGIN = "0" * 64


def canonical(value: Any) -> str:
    """JSON with sorted keys and no spare spaces; numbers that matter are kept as text by the callers."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sha256(content: str | bytes) -> str:
    """The hex SHA-256 of a text in UTF-8, or of bytes."""
    raw = content.encode() if isinstance(content, str) else content
    return hashlib.sha256(raw).hexdigest()


def words_digest(salt: str, words: str) -> str:
    """What the journal keeps of personal words: a digest that says nothing once the salt is erased."""
    return sha256(salt + words)


def entry_hash(
    *, subject: str, n: int, at: str, by: str, verb: str, facts: str, digest: str, previous: str
) -> str:
    """The hash of one row over everything it states and the hash before it."""
    return sha256(canonical([subject, n, at, by, verb, facts, digest, previous]))


def append_only_sql(vendor: str, table: str) -> list[str]:
    """Statements that make a table refuse UPDATE and DELETE (and TRUNCATE on PostgreSQL)."""
    said = f"{table} is append-only"
    if vendor == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
            for verb in ("UPDATE", "DELETE")
        ]
    return [
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{said}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    ]


def drop_append_only_sql(vendor: str, table: str) -> list[str]:
    """Statements that take the triggers of `append_only_sql` away again."""
    if vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {table}_no_{verb}" for verb in ("update", "delete")]
    return [f"DROP TRIGGER IF EXISTS {table}_no_{verb} ON {table}" for verb in ("change", "truncate")]


UID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_HASH = re.compile(r"[0-9a-f]{64}")
_MACHINE = re.compile(r"[a-z]+(_[a-z]+)+")
_LEFT_OUT = {"version", "once"}


def readable(facts: dict[str, Any], names: dict[str, str]) -> list[tuple[str, str]]:
    """Facts or words of an entry for people: (what, said). Uids become names; hashes and empty values are left out."""
    found = []
    if "amount" in facts and "currency" in facts:
        worth = money(facts["amount"], facts["currency"])
        facts = facts | {"amount": f"{worth} {facts['currency']}", "currency": ""}
    for key, value in facts.items():
        said = _said(value, names)
        if said and key not in _LEFT_OUT:
            unit = " N·m" if key.endswith("_n_m") else ""
            found.append((key.removesuffix("_n_m").replace("_", " "), said + unit))
    return found


def _said(value: Any, names: dict[str, str]) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(filter(None, (_said(each, names) for each in value)))
    text = "" if value is None else str(value)
    if uid := UID.search(text):
        return names.get(uid[0], "")
    if _HASH.fullmatch(text):
        return ""
    return text.replace("_", " ") if _MACHINE.fullmatch(text) else text
