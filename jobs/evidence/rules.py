"""Seals that must be accounted for, what a page says of evidence, and whether an export proves itself. Pure."""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from shop.journal.rules import BEGIN, canonical, entry_hash, sha256, words_digest
from shop.workshop.rules import Refusal

# Common practice, no source: neither of our reference texts says how gear is kept after an accident.
CAUTIONS = (
    "Do not open it, pressurise it, breathe from it, take it apart, rinse it or dry it.",
    "Leave every valve and dial as it was found and write down how it stands; photograph it before it is touched again.",
    "The authority that looks into the accident and the law of the place go before everything on this page: ask them first.",
)
WHENCE = "Common practice, no source."
SHOWS = (
    "The journal's rows show only that they were not changed since they were written: what was written may be wrong.",
    "Rows that were cut off at the end show only to somebody who holds a later export.",
    "Whether a court or an authority accepts it is theirs to say.",
)
READ_ME = """The record of gear that was kept as evidence.

evidence.json holds the record and, beside it, the workshop's signature over the record's canonical JSON (RFC 8785, Ed25519).
photographs/ holds each photograph under the SHA-256 of its bytes; records/ holds the closed service records of the item.

The journal's rows in evidence.json are whole chains, one a subject. Recompute each row's hash: the SHA-256 of the JSON list
[subject, n, at, by, verb, facts, digest, previous] in UTF-8, without spaces, letters outside ASCII as they are. `previous` is
the hash of the row before, or 64 zeros. `digest` is the SHA-256 of the words' salt and text, one after the other. The facts of
rows with "custody" hold the SHA-256 of that row of custody as JSON with sorted names and no spaces, and the first row with
"hold" that of `hold.evidence`; those with "photograph" hold the SHA-256 of the picture.

With the workshop's program: manage.py verify_evidence FILE, with --keys FILE for keys that the workshop published.
Words of the journal that were erased at somebody's request are left out; their digest stays.
"""
RE_ENCODED = (
    "A photograph is drawn anew as a JPEG of at most 2 000 pixels a side: place, time and camera of the original are not kept, "
    "nor is its every pixel. Keep the original elsewhere too, where the authority wants it."
)


def seals_of(text: str) -> list[str]:
    """The numbers of seals, as they were typed with commas, semicolons or a line each; none twice."""
    return list(dict.fromkeys(each.strip() for each in re.split(r"[,;\n]", text) if each.strip()))


def custody_refusals(
    standing: Sequence[str],
    intact: Sequence[str],
    broken: Sequence[str],
    why: str,
    *,
    lifted: bool,
    done_at: datetime,
    last_at: datetime | None,
    now: datetime,
) -> list[Refusal]:
    """Each seal that stood is seen intact or broken; a broken or a new one has a reason; time goes forward."""
    found = []
    if lifted:
        found.append(Refusal("lifted-before", "It is evidence no more: pass it on as other gear."))
    if both := [each for each in intact if each in broken]:
        found.append(Refusal("seal-twice", f"{_named(both)}: either intact or broken.", "broken"))
    if unseen := [each for each in standing if each not in (*intact, *broken)]:
        said = f"Say what you saw of {_named(unseen)}: intact, or broken or gone."
        found.append(Refusal("seal-unseen", said, "intact"))
    if not why and broken:
        found.append(Refusal("reason-missing", f"Say why {_named(broken)} was broken or is gone.", "why"))
    new = [each for each in intact if each not in standing]
    if not why and new and last_at is not None:
        found.append(Refusal("reason-missing", f"Say why {_named(new)} was put on.", "why"))
    if done_at > now:
        found.append(Refusal("in-the-future", "It cannot have happened later than now.", "done_at"))
    if last_at is not None and done_at < last_at:
        found.append(Refusal("before-the-last", "The row before it is later than that.", "done_at"))
    return found


def _named(seals: Iterable[str]) -> str:
    return "seal " + ", ".join(seals)


def proof_faults(
    record: Mapping[str, Any], photographs: Mapping[str, bytes], records: Mapping[str, str]
) -> list[str]:
    """Every reason why an export does not prove itself, as sentences; nothing when all is well.

    `photographs` are the files by their SHA-256 as the archive names them, `records` the closed records' texts by uid.
    """
    rows, uid = record["journal"], record["hold"]["uid"]
    if found := _chain_faults(rows):
        return found  # what such rows state proves nothing
    told = [json.loads(row["facts"]) | {"verb": row["verb"]} for row in rows]
    of_it = [each for each in told if each.get("hold") == uid]
    if [sha256(canonical(record["hold"]["evidence"]))] != [
        each["digest"] for each in of_it if each["verb"] == "held"
    ]:
        found.append("hold: what was written down is not what was journalled")
    if [sha256(canonical(row)) for row in record["custody"]] != [
        each["digest"] for each in of_it if "custody" in each
    ]:
        found.append("custody: the rows are not those that were journalled")
    if (record["hold"]["lifted_at"] is not None) != any(each["verb"] == "hold lifted" for each in of_it):
        found.append("hold: the journal says otherwise of its lifting")
    found += _photograph_faults(record["photographs"], photographs, {each.get("sha256") for each in told})
    closed = {each.get("record") for each in told}
    found += [
        f"record {key}: it was not journalled" for key, text in records.items() if sha256(text) not in closed
    ]
    wanted = {each["uid"] for each in record["records"]} - set(records)
    return found + [f"record {key}: its file is missing" for key in sorted(wanted)]


def _chain_faults(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Faults of the chains, each from its first row on."""
    found, ends = list[str](), dict[str, tuple[int, str]]()
    for row in rows:
        name, (n, previous) = f"{row['subject']}, row {row['n']}", ends.get(row["subject"], (0, BEGIN))
        if row["n"] != n + 1:
            found.append(f"{name}: row {n + 1} was expected here")
        if row["previous"] != previous:
            found.append(f"{name}: it does not follow from the row before it")
        stated = {
            key: row[key] for key in ("subject", "n", "at", "by", "verb", "facts", "digest", "previous")
        }
        if entry_hash(**stated) != row["hash"]:
            found.append(f"{name}: its contents do not match its hash")
        words = row["words"]
        if words and words_digest(words["salt"], words["text"]) != row["digest"]:
            found.append(f"{name}: its words do not match their digest")
        ends[row["subject"]] = (row["n"], row["hash"])
    return found


def _photograph_faults(
    listed: Sequence[Mapping[str, Any]], files: Mapping[str, bytes], journalled: set[str | None]
) -> list[str]:
    """Each photograph that is listed is there, is the one that it says, and was journalled; and no other."""
    wanted = {each["sha256"] for each in listed}
    found = [
        f"photograph {name}: it is another picture" for name, raw in files.items() if sha256(raw) != name
    ]
    found += [
        f"photograph {name}: it was not journalled" for name in sorted(wanted) if name not in journalled
    ]
    found += [f"photograph {name}: its file is missing" for name in sorted(wanted - set(files))]
    return found + [f"photograph {name}: no row names it" for name in sorted(set(files) - wanted)]
