"""Photographs of items, lines and jobs over both doors, and the bytes on the disk."""

import hashlib
import os
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import LazySettings
from django.db import IntegrityError, transaction
from django.test import Client

from shop.files.actions import keep_photograph
from shop.files.models import File, Photograph
from shop.files.reads import re_encoded, stored
from shop.journal.models import Entry
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.photographs import encoded, form, halves
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.threads import statuses, together
from tests.walk import Walk, ok

PLACES = {"item": "counter", "line": "counter", "job": "technician"}


@pytest.fixture
def folder(settings: LazySettings, tmp_path: Path) -> Path:
    """An empty folder for the bytes."""
    settings.FILES = tmp_path / "files"
    return tmp_path / "files"


@pytest.fixture
def walk(folder: Path, house: House, api: dict[str, Api]) -> Walk:
    return Walk(house, api)


def uids(walk: Walk) -> dict[str, str]:
    return {"item": str(walk.item.uid), "line": str(walk.row.line.uid), "job": walk.job}


def post(walk: Walk, place: str, content: bytes, role: str = "", **more: Any) -> Any:
    """A photograph to a door, as whoever may send it there."""
    path = f"{place}s/{uids(walk)[place]}/photographs"
    return walk.api[role or PLACES[place]].post(path, form(content, **more), format="multipart")


def files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_it_works(walk: Walk, folder: Path) -> None:
    body = ok(post(walk, "item", halves("JPEG", 6), words="the serial"), 201)

    assert (body["words"], body["width_px"], body["height_px"]) == ("the serial", 32, 64)
    assert body["subject"] == f"item:{walk.item.uid}"
    answer = walk.api["storekeeper"].client.get(f"/api/v1/photographs/{body['uid']}")
    assert answer.status_code == 200
    assert hashlib.sha256(answer.content).hexdigest() == body["sha256"]
    assert len(answer.content) == body["size_bytes"]


@pytest.mark.parametrize(
    ("place", "chain"), [("item", "item:{item}"), ("line", "drop-off:{drop_off}"), ("job", "job:{job}")]
)
def test_it_journals_on_the_chain_of_what_is_shown(walk: Walk, place: str, chain: str) -> None:
    body = ok(post(walk, place, encoded()), 201)

    entry = Entry.objects.get(verb="photographed")
    assert entry.subject == chain.format(item=walk.item.uid, drop_off=walk.drop_off, job=walk.job)
    assert body["uid"] in entry.facts
    assert body["sha256"] in entry.facts
    assert list(faults()) == []


@pytest.mark.parametrize("place", PLACES)
def test_it_lists_the_photographs_of_each(walk: Walk, place: str) -> None:
    made = [ok(post(walk, place, encoded(), words=f"No. {n}"), 201)["uid"] for n in range(3)]
    ok(post(walk, "item" if place != "item" else "line", encoded()), 201)

    found = ok(walk.api["lead"].get(f"{place}s/{uids(walk)[place]}/photographs"))["results"]

    assert [row["uid"] for row in found] == made[::-1]


def test_it_shows_a_step(walk: Walk, pages: dict[str, Client]) -> None:
    ok(post(walk, "job", encoded(), step="yoke", words="a nick in the thread"), 201)

    page = said(pages["lead"].get(f"/jobs/{walk.job}"), 200)

    assert Photograph.objects.get().subject == f"step:{walk.job}:yoke"
    assert "a nick in the thread" in page
    assert "<b>Step 2, " in page


def test_it_refuses_a_step_that_the_plan_has_not(walk: Walk, folder: Path) -> None:
    with nothing_changes():
        assert codes(post(walk, "job", encoded(), step="polish")) == ["no-such-step"]

    assert files(folder) == []


@pytest.mark.parametrize(
    ("place", "page", "back"),
    [
        ("item", "items/{item}", "/items/{item}"),
        ("line", "lines/{line}", "/drop-offs/{drop_off}"),
        ("job", "jobs/{job}", "/jobs/{job}"),
    ],
)
def test_it_is_added_and_seen_on_the_page(
    walk: Walk, pages: dict[str, Client], place: str, page: str, back: str
) -> None:
    named = uids(walk) | {"drop_off": walk.drop_off}
    client, path = pages[PLACES[place]], f"/{page.format(**named)}/photographs/new"
    blank = said(client.get(path), 200)

    answer = send(client, path, form(encoded(), "as it came"))

    row = Photograph.objects.get()
    assert 'type="file"' in blank
    assert 'accept="image/*" capture="environment"' in blank
    assert answer["Location"] == f"{back.format(**named)}#photographs"
    shown = said(client.get(back.format(**named)), 200)
    assert f'src="/photographs/{row.uid}"' in shown
    assert "as it came" in shown


@pytest.mark.parametrize("start", ["/photographs/", "/api/v1/photographs/"])
def test_it_is_served_as_a_picture_and_nothing_else(walk: Walk, pages: dict[str, Client], start: str) -> None:
    uid = ok(post(walk, "item", encoded()), 201)["uid"]

    answer = pages["storekeeper"].get(f"{start}{uid}", headers={"Accept": "image/jpeg"})

    assert answer.status_code == 200
    assert answer.content == re_encoded(encoded()).jpeg
    expected = {
        "Content-Type": "image/jpeg",
        "X-Content-Type-Options": "nosniff",
        "Content-Disposition": "inline",
        "Cache-Control": "no-store",
    }
    assert {name: answer[name] for name in expected} == expected
    assert "sandbox" in answer["Content-Security-Policy"].split("; ")


def test_it_is_not_shown_to_a_stranger(walk: Walk, pages: dict[str, Client]) -> None:
    uid = ok(post(walk, "item", encoded()), 201)["uid"]

    page = Client().get(f"/photographs/{uid}")
    answer = Client().get(f"/api/v1/photographs/{uid}", headers={"Accept": "image/jpeg"})

    assert page.status_code == 302
    assert page["Location"].startswith("/sign-in?")
    assert codes(answer, 401) == []


def test_it_finds_no_other(walk: Walk, pages: dict[str, Client]) -> None:
    assert pages["lead"].get(f"/photographs/{uuid4()}").status_code == 404
    assert codes(walk.api["lead"].get(f"photographs/{uuid4()}"), 404) == []


def test_it_stores_the_same_bytes_once(walk: Walk, folder: Path) -> None:
    for place in PLACES:
        ok(post(walk, place, encoded()), 201)

    assert (File.objects.count(), Photograph.objects.count()) == (1, 3)
    assert len(files(folder)) == 1


def test_it_stores_bytes_under_their_hash_for_their_owner_alone(walk: Walk, folder: Path) -> None:
    sha256 = ok(post(walk, "item", encoded()), 201)["sha256"]

    (path,) = files(folder)
    assert path == folder / sha256[:2] / sha256[2:]
    assert hashlib.sha256(path.read_bytes()).hexdigest() == sha256
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == folder.stat().st_mode & 0o777 == 0o700


def test_it_never_writes_over_what_is_stored(walk: Walk, folder: Path) -> None:
    ok(post(walk, "item", encoded()), 201)
    (path,) = files(folder)
    before = path.stat()

    ok(post(walk, "item", encoded()), 201)

    after = path.stat()
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


def test_it_is_kept_once_for_a_key_sent_twice(walk: Walk) -> None:
    path = f"items/{walk.item.uid}/photographs"
    first, second = (
        walk.api["counter"].post(path, form(encoded()), key="once", format="multipart") for _ in range(2)
    )
    other = walk.api["counter"].post(path, form(halves("PNG")), key="once", format="multipart")

    assert first.json() == second.json()
    assert (first.status_code, second.status_code, other.status_code) == (201, 201, 422)
    assert Photograph.objects.count() == 1


def test_it_leaves_only_bytes_when_it_stops_before_the_row(walk: Walk, folder: Path) -> None:
    """The bytes are there, the transaction is not: they harm nobody and serve the next one who sends them."""
    picture = re_encoded(encoded())

    def stop() -> None:
        with transaction.atomic():
            keep_photograph(by="x", subject="item:x", chain="item:x", picture=picture, words="")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stop()

    assert (File.objects.count(), Photograph.objects.count(), len(files(folder))) == (0, 0, 1)
    ok(post(walk, "item", encoded()), 201)
    assert stored(File.objects.get()) == picture.jpeg
    assert len(files(folder)) == 1


def test_it_leaves_no_half_file_when_the_disk_is_full(walk: Walk, folder: Path) -> None:
    """A limit on the size of files stops the write in the middle, as a full disk does."""
    done = os.fork()
    if done == 0:
        import resource  # noqa: PLC0415 - only the child that ends here limits itself
        import signal  # noqa: PLC0415 - likewise

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
        from shop.files.actions import _write  # noqa: PLC0415 - likewise

        try:
            _write(bytes(5000), "ab" + "c" * 62)
        except OSError:
            os._exit(7)
        os._exit(0)

    assert os.waitstatus_to_exitcode(os.waitpid(done, 0)[1]) == 7
    assert files(folder) == []


def test_it_serves_no_bytes_that_are_not_those_that_were_stored(walk: Walk, folder: Path) -> None:
    uid = ok(post(walk, "item", encoded()), 201)["uid"]
    (path,) = files(folder)
    path.write_bytes(path.read_bytes() + b"x")
    client = Client(raise_request_exception=False)
    client.force_login(walk.house.people["lead"])

    assert client.get(f"/photographs/{uid}").status_code == 500
    path.unlink()
    assert client.get(f"/photographs/{uid}").status_code == 500


def test_it_is_never_changed(walk: Walk) -> None:
    ok(post(walk, "item", encoded()), 201)

    for row in (File.objects.get(), Photograph.objects.get()):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            row.save()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The submitted file is empty."),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "send a JPEG, PNG or WebP."),
        (b"<!doctype html><script>alert(1)</script>", "send a JPEG, PNG or WebP."),
        (encoded("JPEG", (600, 400))[:1500], "damaged or cut short"),
        (encoded() + bytes(10_000_000), "at most 10 MB are taken."),
    ],
    ids=["empty", "svg", "html", "cut short", "too large"],
)
def test_it_refuses_with_a_clear_sentence(
    walk: Walk, folder: Path, pages: dict[str, Client], content: bytes, words: str
) -> None:
    with nothing_changes():
        answer = post(walk, "item", content)
        page = send(pages["counter"], f"/items/{walk.item.uid}/photographs/new", form(content, "the hose"))

    assert pointers(answer) == ["/photograph"]
    assert words in answer.json()["errors"][0]["detail"]
    assert words in said(page, 400)
    assert "the hose" in said(page, 400), "what was typed stays"
    assert files(folder) == []


def test_it_refuses_a_body_that_is_too_large_unread(walk: Walk) -> None:
    assert codes(post(walk, "item", bytes(21_000_001)), 413) == []


@pytest.mark.parametrize("sent", ["text", None, ""])
def test_it_asks_for_a_file(walk: Walk, sent: str | None) -> None:
    data = {"words": "x"} | ({} if sent is None else {"photograph": sent})
    path = f"items/{walk.item.uid}/photographs"

    assert pointers(walk.api["counter"].post(path, data, format="multipart")) == ["/photograph"]
    answer = walk.api["counter"].post(path, {"photograph": "x"})
    assert codes(answer, 415) == []
    assert answer.json()["title"] == "This address does not take that media type"
    assert answer.json()["detail"].startswith("Send multipart/form-data.")


@pytest.mark.parametrize(
    "name",
    [
        "../../../../etc/passwd", "..\\..\\boot.ini", "/etc/passwd", "a\0b.jpg", "%2e%2e%2fx", "x.jpg::$DATA",
        "n" * 300 + ".jpg", "n" * 5000 + ".jpg", "", "CON", "\u202egpj.exe", "page.html", ".", "..", "é" * 250, 'a"; filename="b.jpg',
    ],
)  # fmt: skip
def test_it_never_looks_at_a_name(walk: Walk, folder: Path, name: str) -> None:
    """Whatever the name and the declared type: the photograph under its hash, or a 4xx; no file elsewhere."""
    around = {path for path in folder.parent.rglob("*") if folder not in (path, *path.parents)}
    lines = [
        b"--edge",
        b'Content-Disposition: form-data; name="photograph"; filename="' + name.encode() + b'"',
        b"Content-Type: text/html",
        b"",
        encoded(),
        b"--edge--",
        b"",
    ]
    client: Any = walk.api["counter"].client
    answer = client.generic(
        "POST",
        f"/api/v1/items/{walk.item.uid}/photographs",
        b"\r\n".join(lines),
        content_type="multipart/form-data; boundary=edge",
        headers={"Idempotency-Key": '"named"'},
    )

    sha256 = hashlib.sha256(re_encoded(encoded()).jpeg).hexdigest()
    assert answer.status_code in (201, 400)
    assert files(folder) == ([folder / sha256[:2] / sha256[2:]] if answer.status_code == 201 else [])
    assert {path for path in folder.parent.rglob("*") if folder not in (path, *path.parents)} == around


@pytest.mark.parametrize("words", ["x" * 201, "a\0b"])
def test_it_refuses_words_that_cannot_be_kept(walk: Walk, folder: Path, words: str) -> None:
    with nothing_changes():
        assert pointers(post(walk, "item", encoded(), words=words)) == ["/words"]

    assert files(folder) == []


@pytest.mark.usefixtures("real_database")
def test_it_stores_once_what_eight_send_at_one_instant(
    folder: Path, real_database: None, house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api)

    def act(_: int) -> Any:
        counter = Api(house.people["counter"])
        return counter.post(f"items/{walk.item.uid}/photographs", form(encoded()), format="multipart")

    assert statuses(together(8, act)) == {201: 8}
    assert (File.objects.count(), Photograph.objects.count()) == (1, 8)
    assert len(files(folder)) == 1
    assert list(faults()) == []
