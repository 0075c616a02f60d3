"""The record of evidence proves itself from the archive alone, and no longer when a byte is changed."""

import json
import zipfile
from hashlib import sha256
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from django.core.management import CommandError, call_command

from jobs.evidence.rules import proof_faults
from shop.journal.models import Entry, Words
from tests.conftest import Api, House
from tests.photographs import encoded, form
from tests.rows import said
from tests.walk import EVIDENCE, Walk, ok


def archive(house: House, api: dict[str, Api], pages: dict[str, Any], tmp_path: Path) -> Path:
    """Evidence of an item with a closed job, photographed and passed on, taken out by the lead."""
    walk = Walk(house, api).to("signed_off")
    uid = ok(api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE | {"seals": "A-1"}), 201)["uid"]
    ok(
        api["counter"].post(f"evidence/{uid}/photographs", form(encoded(), "seal A-1"), format="multipart"),
        201,
    )
    out = {"where": "outside", "giver": "us", "holder": "the police", "intact": "A-1", "people": "Orla Finch"}
    ok(api["counter"].post(f"evidence/{uid}/custody", out), 201)
    answer = pages["lead"].post(f"/evidence/{uid}/take-out")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/zip")
    file = tmp_path / "evidence.zip"
    file.write_bytes(b"".join(answer.streaming_content))
    return file


def verify(file: Path) -> str:
    out = StringIO()
    call_command("verify_evidence", str(file), stdout=out, stderr=StringIO())
    return out.getvalue()


def held(file: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(file) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def put(file: Path, names: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(file, "w") as opened:
        for name, raw in names.items():
            opened.writestr(name, raw)
    return file


@pytest.fixture
def file(house: House, api: dict[str, Api], pages: dict[str, Any], tmp_path: Path) -> Path:
    return archive(house, api, pages, tmp_path)


def test_it_works(file: Path) -> None:
    """Recomputed here from the archive alone, as its READ-ME says, with none of our functions."""
    record = json.loads(held(file)["evidence.json"])["record"]
    ends: dict[str, str] = {}
    for row in record["journal"]:
        stated = [row[name] for name in ("subject", "n", "at", "by", "verb", "facts", "digest", "previous")]
        text = json.dumps(stated, separators=(",", ":"), ensure_ascii=False)
        assert sha256(text.encode()).hexdigest() == row["hash"]
        assert row["previous"] == ends.get(row["subject"], "0" * 64)
        if row["words"]:
            said_ = row["words"]["salt"] + row["words"]["text"]
            assert sha256(said_.encode()).hexdigest() == row["digest"]
        ends[row["subject"]] = row["hash"]
    assert len(ends) == 2  # the item and its job
    facts = [json.loads(row["facts"]) for row in record["journal"]]
    digests = [each["digest"] for each in facts if "custody" in each]
    plain = [
        json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        for row in record["custody"]
    ]
    assert digests == [sha256(each.encode()).hexdigest() for each in plain]
    assert len(digests) == 2
    (photograph,) = record["photographs"]
    raw = held(file)[f"photographs/{photograph['sha256']}.jpg"]
    assert sha256(raw).hexdigest() == photograph["sha256"]
    assert photograph["sha256"] in [each.get("sha256") for each in facts]
    assert len([name for name in held(file) if name.startswith("records/")]) == 1
    assert "The signature fits" in verify(file)
    assert Entry.objects.order_by("-pk")[0].verb == "evidence taken out"


def test_it_goes_red_when_a_byte_of_any_file_is_changed(file: Path) -> None:
    whole = held(file)
    for name, raw in whole.items():
        if name == "READ-ME.txt":
            continue
        for at in range(len(raw) // 7, len(raw), len(raw) // 7 or 1):
            changed = raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :]
            with pytest.raises(CommandError):
                verify(put(file, whole | {name: changed}))
    for name in whole:
        if name != "READ-ME.txt":
            with pytest.raises(CommandError):
                verify(put(file, {key: raw for key, raw in whole.items() if key != name}))


def test_it_is_proven_without_the_signature_too(file: Path) -> None:
    """Whoever could sign anew still cannot make the rows say something else."""
    whole = held(file)
    text = json.dumps(json.loads(whole["evidence.json"])["record"])
    pictures = {name[12:-4]: raw for name, raw in whole.items() if name.startswith("photographs/")}

    def faults(change: Any) -> list[str]:
        record = json.loads(text)
        change(record)
        return proof_faults(record, pictures, closed)

    closed = {
        name[8:-5]: rfc8785.dumps(json.loads(raw)["record"]).decode()
        for name, raw in whole.items()
        if name.startswith("records/")
    }
    assert faults(lambda record: None) == []
    for change in (
        lambda record: record["custody"][1].update(intact="A-1, A-2"),
        lambda record: record["custody"][0].update(giver="nobody"),
        lambda record: record["custody"].pop(),
        lambda record: record.update(custody=[record["custody"][0]] * 2),
        lambda record: record["hold"]["evidence"].update(why="It was lost."),
        lambda record: record["hold"].update(lifted_at="2026-11-27T00:00:00+00:00"),
        lambda record: record["photographs"].pop(),
        lambda record: record["records"][0].update(uid="another"),
        lambda record: record["journal"].pop(0),
        lambda record: record["journal"][3].update(verb="renamed"),
        lambda record: record["journal"][3].update(at="2026-11-27T00:00:00+00:00"),
        lambda record: record["journal"][-1].update(words={"salt": "", "text": "{}"}),
    ):
        assert faults(change)


def test_it_holds_with_words_erased(
    file: Path, house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    """Names of people stand in the journal's words only."""
    assert b"Orla Finch" in held(file)["evidence.json"]
    Words.objects.update(salt="", text="")
    hold = ok(api["lead"].get("evidence"))["results"][0]
    answer = api["lead"].post(f"evidence/{hold['uid']}/archives", {})
    file.write_bytes(b"".join(answer.streaming_content))

    assert b"Orla Finch" not in held(file)["evidence.json"]
    assert "The signature fits" in verify(file)
    assert "Orla Finch" not in said(pages["lead"].get(f"/evidence/{hold['uid']}"), 200)


def test_it_is_taken_out_by_the_lead_alone(file: Path, api: dict[str, Api], pages: dict[str, Any]) -> None:
    uid = ok(api["lead"].get("evidence"))["results"][0]["uid"]

    for role in ("counter", "technician", "inspector", "storekeeper"):
        assert api[role].post(f"evidence/{uid}/archives", {}).status_code == 403
        assert pages[role].post(f"/evidence/{uid}/take-out").status_code == 403


def test_it_refuses_what_is_no_archive(tmp_path: Path, house: House) -> None:
    file = tmp_path / "x.zip"
    for raw in (b"", b"PK", put(tmp_path / "y.zip", {"evidence.json": b"{}"}).read_bytes()):
        file.write_bytes(raw)
        with pytest.raises(CommandError):
            verify(file)


def test_the_page_that_checks_service_records_says_so(file: Path, pages: dict[str, Any]) -> None:
    page = pages["lead"].post("/check", {"file": BytesIO(held(file)["evidence.json"])})

    assert "this is no service record" in said(page)
