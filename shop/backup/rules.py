"""What a backup states about itself, and how it differs from what is there. Pure."""

import json
import re
from dataclasses import asdict, dataclass

FORMAT = 1
SUMS, MANIFEST = "SHA256SUMS", "manifest.json"
DATABASE = {"sqlite": "database.sqlite3", "postgresql": "database.dump"}
LINE = re.compile(r"([0-9a-f]{64})  (.+)")


@dataclass(frozen=True)
class Table:
    """How many rows a table has, and the SHA-256 over them in the order of its primary key."""

    rows: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """One snapshot: `files` are the SHA-256 of all files it names, `lost` of those that were gone when it was made."""

    version: str
    made_at: str
    engine: str
    migrations: list[str]
    tables: dict[str, Table]
    files: list[str]
    lost: list[str]
    format: int = FORMAT


def manifest_text(manifest: Manifest) -> str:
    """A manifest as it is written."""
    return json.dumps(asdict(manifest), indent=1, sort_keys=True) + "\n"


def read_manifest(text: str) -> Manifest:
    """A manifest as it was written; a ValueError with a sentence when it is none of ours."""
    try:
        told = json.loads(text)
        tables = {name: Table(**each) for name, each in told["tables"].items()}
        found = Manifest(**(told | {"tables": tables}))
    except (KeyError, TypeError, AttributeError, ValueError):
        raise ValueError(f"{MANIFEST} is not a manifest that this version can read.") from None
    if found.format != FORMAT:
        raise ValueError(f"The backup has format {found.format}; this version reads format {FORMAT}.")
    if found.engine not in DATABASE:
        raise ValueError(f"{MANIFEST} names the engine {found.engine!r}, which is not known here.")
    return found


def sums_text(sums: dict[str, str]) -> str:
    """What `sha256sum --check` reads: a line for each name."""
    return "".join(f"{sha256}  {name}\n" for name, sha256 in sorted(sums.items()))


def read_sums(text: str) -> dict[str, str]:
    """The SHA-256 by name; a ValueError unless the text is exactly one that `sums_text` writes."""
    lines = [LINE.fullmatch(line) for line in text.split("\n")[:-1]]
    found = {line[2]: line[1] for line in lines if line}
    if not found or sums_text(found) != text:
        raise ValueError(f"{SUMS} is cut short or damaged.")
    return found


def byte_faults(stated: dict[str, str], found: dict[str, str]) -> list[str]:
    """What is missing, too much or altered, a sentence each."""
    return [
        f"{name} is missing."
        if name not in found
        else f"{name} is not named in {SUMS}."
        if name not in stated
        else f"{name} was altered or cut short: its bytes are not those that were written."
        for name in sorted(stated | found)
        if stated.get(name) != found.get(name)
    ]


def table_faults(stated: dict[str, Table], found: dict[str, Table]) -> list[str]:
    """In what the tables that were found differ from those stated, a sentence each."""
    return [
        f"Table {name} is missing."
        if name not in found
        else f"Table {name} is not named in {MANIFEST}."
        if name not in stated
        else f"Table {name} has {found[name].rows} rows; the backup states {stated[name].rows}."
        if found[name].rows != stated[name].rows
        else f"Table {name} has rows that are not those the backup states."
        for name in sorted(stated | found)
        if stated.get(name) != found.get(name)
    ]


def migration_faults(stated: list[str], known: list[str]) -> list[str]:
    """Why this version cannot take up the database of another one, or nothing."""
    more, fewer = sorted(set(stated) - set(known)), sorted(set(known) - set(stated))
    if not more and not fewer:
        return []
    told = [f"it has {', '.join(more)}"] * bool(more) + [f"it lacks {', '.join(fewer)}"] * bool(fewer)
    return [
        f"The backup was made by a version with other migrations ({'; '.join(told)}). "
        "Restore it with the version that made it, then upgrade."
    ]
