"""The chain of the journal, and the SQL that makes a table append-only. Pure."""

import hashlib
import json
import re
from collections.abc import Sequence
from typing import Any

from shop.workshop.rules import money

BEGIN = "0" * 64
# What stands in the place of a text that was erased; of an append-only table these columns may become it, and nothing else.
ERASED = "(erased)"
ERASABLE: dict[str, tuple[str, ...]] = {
    "files_photograph": ("words",),
    "files_spot": ("words",),
    "clocks_restart": ("elsewhere",),
    "flow_move": ("reason",),
    "flow_custody": ("holder", "why"),
    "worksheet_stepdone": ("omitted", "noted"),
    "tray_traypart": ("words", "why", "override"),
    "bench_attempt": ("station", "certificate", "why_again"),
    "planning_takeover": ("condition",),
    "estimates_goahead": ("given_by",),
    "bills_bill": ("reason",),
    "bills_payment": ("reason",),
    "notices_doubt": ("why",),
    "notices_answer": ("words",),
    "matches_answer": ("words",),
    "signoff_signoff": ("words", "single_handed", "record"),
    "handback_handback": ("collector",),
    "terms_accepted": ("name",),
    "condition_answer": ("note",),
    "handback_disposal": ("how",),
    "answers_answer": ("elsewhere",),
    "evidence_evidence": ("reference", "found"),
    "evidence_evidencecustody": ("giver", "holder", "why"),
}


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


def append_only_sql(vendor: str, table: str, columns: Sequence[str] = ()) -> list[str]:
    """Statements that make a table refuse UPDATE and DELETE (and TRUNCATE on PostgreSQL), but for the erasing of a text.

    SQLite cannot compare whole rows, so it is told all columns of a table where something may be erased.
    """
    said, erasable = f"{table} is append-only", ERASABLE.get(table, ())
    if vendor == "sqlite":
        when = f"WHEN NOT ({_only_erased(columns, erasable)}) " if erasable and columns else ""
        return [
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} {only}"
            f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
            for verb, only in (("UPDATE", when), ("DELETE", ""))
        ]
    named = ", ".join(f"'{each}'" for each in erasable)
    texts = " AND ".join(map(_erased, erasable))
    lets = (
        f"IF TG_OP = 'UPDATE' THEN IF to_jsonb(NEW) - ARRAY[{named}] = to_jsonb(OLD) - ARRAY[{named}] AND {texts} "
        "AND to_jsonb(NEW) <> to_jsonb(OLD) THEN RETURN NEW; END IF; END IF; "
        if erasable
        else ""
    )
    return [
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN {lets}RAISE EXCEPTION '{said}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    ]


def _erased(column: str) -> str:
    """That a column is as it was, or a text in it was erased."""
    return f"(NEW.{column} = OLD.{column} OR OLD.{column} <> '' AND NEW.{column} = '{ERASED}')"


def _only_erased(columns: Sequence[str], erasable: Sequence[str]) -> str:
    """That a row of SQLite is changed in nothing but a text that is erased."""
    same = [f'NEW."{each}" IS OLD."{each}"' for each in columns if each not in erasable]
    texts = map(_erased, erasable)
    other = " OR ".join(f"NEW.{each} <> OLD.{each}" for each in erasable)
    return " AND ".join([*same, *texts, f"({other})"])


def drop_append_only_sql(vendor: str, table: str, columns: Sequence[str] = ()) -> list[str]:
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
