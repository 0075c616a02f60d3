"""Certificates as PDF over both doors: kept as they came, once, and only given back as files."""

import hashlib
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import LazySettings
from django.db import IntegrityError, transaction
from django.test import Client

from shop.files.models import Document, File
from shop.journal.models import Entry
from tests.conftest import Api, House
from tests.photographs import PDF, upload
from tests.rows import nothing_changes, pointers, said, send
from tests.walk import ok

SHA256 = hashlib.sha256(PDF).hexdigest()


@pytest.fixture
def folder(settings: LazySettings, tmp_path: Path) -> Path:
    """An empty folder for the bytes."""
    settings.FILES = tmp_path / "files"
    return tmp_path / "files"


@pytest.fixture
def calibration(folder: Path, house: House) -> Any:
    return house.instruments["torque wrench"].calibrations.get()


def post(
    api: dict[str, Api], calibration: Any, content: bytes, role: str = "lead", name: str = "c.pdf"
) -> Any:
    given = {"document": upload(content, name=name, declared="text/html")}
    return api[role].post(f"calibrations/{calibration.uid}/documents", given, format="multipart")


def test_it_works(api: dict[str, Api], pages: dict[str, Client], calibration: Any, folder: Path) -> None:
    body = ok(post(api, calibration, PDF), 201)

    assert (body["subject"], body["sha256"], body["size_bytes"]) == (
        f"calibration:{calibration.uid}",
        SHA256,
        len(PDF),
    )
    assert (folder / SHA256[:2] / SHA256[2:]).read_bytes() == PDF
    assert len(ok(api["technician"].get(f"calibrations/{calibration.uid}/documents"))["results"]) == 1
    entry = Entry.objects.order_by("-pk")[0]
    assert (entry.subject, entry.verb) == (f"instrument:{calibration.instrument.uid}", "document kept")
    page = said(pages["technician"].get(f"/office/instruments/{calibration.instrument.uid}"), 200)
    assert f'href="/documents/{body["uid"]}"' in page
    assert f"certificate {calibration.certificate}" in page


@pytest.mark.parametrize("door", ["", "/api/v1"])
def test_it_gives_it_back_as_a_file_and_nothing_else(
    door: str, api: dict[str, Api], pages: dict[str, Client], calibration: Any
) -> None:
    uid = ok(post(api, calibration, PDF), 201)["uid"]
    client: Any = api["technician"].client if door else pages["technician"]

    answer = client.get(f"{door}/documents/{uid}")

    assert (answer.status_code, answer.content) == (200, PDF)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="certificate.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert client.get(f"{door}/documents/{uuid4()}").status_code == 404


def test_it_is_stored_once_and_never_changed(
    api: dict[str, Api], pages: dict[str, Client], calibration: Any, folder: Path
) -> None:
    ok(post(api, calibration, PDF), 201)
    path = f"/office/calibrations/{calibration.uid}/documents/new"
    answer = send(pages["lead"], path, {"document": upload(PDF, name="../../again.html")})
    assert answer.status_code == 302

    assert (File.objects.count(), Document.objects.count()) == (1, 2)
    assert [each.name for each in folder.rglob("*") if each.is_file()] == [SHA256[2:]]
    for row in Document.objects.all():
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            row.save()


@pytest.mark.parametrize("content", [PDF[:-8], PDF + b"<script>", b"<html>" + PDF])
def test_it_refuses_what_is_no_whole_pdf(
    content: bytes, api: dict[str, Api], pages: dict[str, Client], calibration: Any, folder: Path
) -> None:
    with nothing_changes():
        answer = post(api, calibration, content)
        path = f"/office/calibrations/{calibration.uid}/documents/new"
        page = send(pages["lead"], path, {"document": upload(content)})
        assert post(api, calibration, PDF, role="counter").status_code == 403

    assert pointers(answer) == ["/document"]
    assert "This is no whole PDF" in said(page, 400)
    assert not folder.exists()
