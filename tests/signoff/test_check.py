"""Whether a record was issued here: by its file, by its printed code, by the command, asked by a stranger."""

import json
from io import StringIO
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from jobs.signoff.models import SignOff
from shop.environment import data_folder, secret_key
from shop.signing.rules import canonical_json
from tests.conftest import Api, House
from tests.printed import marks_of, text_of
from tests.rows import said
from tests.walk import Walk, ok


@pytest.fixture
def row(house: House, api: dict[str, Api]) -> SignOff:
    """A record that was signed."""
    Walk(house, api).to("signed_off")
    return SignOff.objects.select_related("key").get()


def check(content: bytes) -> Any:
    """What a stranger is shown of a file."""
    return Client().post("/check", {"file": SimpleUploadedFile("signed-record.json", content)})


def test_it_works(row: SignOff, pages: dict[str, Client]) -> None:
    taken = pages["counter"].get(f"/records/{row.uid}/signed.json")
    assert taken["Content-Disposition"] == f'attachment; filename="signed-record-{row.uid}.json"'

    page = check(taken.content)

    text = said(page, 200)
    assert "The signature fits" in text
    assert row.digest in text
    assert "It does not show that the gear is safe today" in text


def test_it_is_the_same_over_the_api(row: SignOff, api: dict[str, Api]) -> None:
    body = ok(api["counter"].get(f"records/{row.uid}/signed"))

    assert canonical_json(body["record"]) == row.record
    assert "The signature fits" in said(check(json.dumps(body).encode()), 200)


def test_it_finds_one_changed_letter(row: SignOff, pages: dict[str, Client]) -> None:
    content = pages["counter"].get(f"/records/{row.uid}/signed.json").content

    page = check(content.replace(b'"9.42"', b'"9.52"'))

    assert "The signature does not fit" in said(page)


@pytest.mark.django_db
def test_it_says_what_is_wrong_with_a_file() -> None:
    assert (
        said(check(b"%PDF-1.7")).count("It is not a signed record.") == 1
    )  # not at the field for a code too
    assert check(b"").status_code == 400
    assert Client().post("/check").status_code == 400


def test_it_leads_there_from_the_printed_record(row: SignOff, api: dict[str, Api]) -> None:
    content = bytes(api["counter"].get(f"records/{row.uid}/record.pdf").content)

    (address,) = (mark for marks in marks_of(content) for mark in marks if "/check?" in mark)
    asked = urlsplit(address)
    page = said(Client().get(f"{asked.path}?{asked.query}"), 200)

    assert "It was issued here" in page
    assert row.digest in page
    for code in (address, f" {row.digest[:40].upper()} {row.digest[40:]}"):
        assert "It was issued here" in said(Client().get("/check", {"code": code}), 200)
    for code in (address.replace(row.digest, "0" * 64), row.digest[1:], "\0", "[?&record=x&digest=y"):
        assert "No such record was issued here" in said(Client().get("/check", {"code": code}), 200)
    assert row.signature in text_of(content).replace("\n", "").replace(" ", "")


@pytest.mark.parametrize(
    "asked",
    ["record={uid}&digest=" + "0" * 64, "record={uid}", "record=%00&digest={digest}", "digest={digest}"],
)
def test_it_knows_no_other_paper(row: SignOff, asked: str) -> None:
    page = Client().get("/check?" + asked.format(uid=row.uid, digest=row.digest))

    assert "No such record was issued here" in said(page, 200)


def test_its_command_needs_no_workshop(row: SignOff, pages: dict[str, Client], tmp_path: Path) -> None:
    """With the published keys it asks no database: whoever kept them needs nobody."""
    file, keys, said_there = tmp_path / "record.json", tmp_path / "keys.json", StringIO()
    file.write_bytes(pages["counter"].get(f"/records/{row.uid}/signed.json").content)
    keys.write_bytes(Client().get("/check/keys.json").content)

    call_command("verify_record", str(file), keys=keys, stdout=said_there)

    assert f"The signature fits key {row.key.key}" in said_there.getvalue()
    file.write_bytes(file.read_bytes().replace(b"within", b"beyond", 1))
    with pytest.raises(CommandError, match="does not fit"):
        call_command("verify_record", str(file))
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("verify_record", str(tmp_path / "none.json"))


def test_its_command_says_what_it_needs_and_leaves_nothing(
    row: SignOff, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On a machine without a workshop, and without the published keys."""
    file, folder = tmp_path / "record.json", tmp_path / "data"
    file.write_text("{}")
    monkeypatch.setitem(connection.settings_dict, "NAME", folder / "db.sqlite3")
    monkeypatch.setattr("sys.argv", ["manage.py", "verify_record", str(file)])
    monkeypatch.delenv("EBBWRIGHT_SECRET_KEY", raising=False)

    assert secret_key(data_folder(folder))
    with pytest.raises(CommandError, match="--keys FILE") as refused:
        call_command("verify_record", str(file))

    assert refused.value.returncode == 2
    assert list(tmp_path.iterdir()) == [file]
