"""The chain of the journal, and the SQL that makes a table append-only. Pure."""

import hashlib
import json
from typing import Any

BEGIN = "0" * 64


def canonical(value: Any) -> str:
    """JSON with sorted keys and no spare spaces; numbers that matter are kept as text by the callers."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def sha256(text: str) -> str:
    """The hex SHA-256 of a text."""
    return hashlib.sha256(text.encode()).hexdigest()


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
