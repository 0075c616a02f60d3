"""A9 and A11: a request that names another host, and a `next` that leads elsewhere: nothing leaves our own address."""

from email import message_from_bytes
from email.policy import default
from typing import Any
from urllib.parse import urljoin, urlsplit

from django.conf import settings
from django.core.cache import cache
from django.db import transaction
from django.test import Client

from shop.post.models import Letter
from shop.staff.models import Person
from tests.conftest import PASSWORD, Api, House
from tests.walk import Walk

EVIL = "elsewhere.example"
OWN = {"127.0.0.1", "localhost", "testserver"}
HOSTS: list[dict[str, str]] = [
    {"Host": EVIL},
    {"Host": f"{EVIL}:80"},
    {"Host": f"127.0.0.1@{EVIL}"},
    {"Host": f"user@{EVIL}"},
    {"Host": f"127.0.0.1, {EVIL}"},
    {"Host": f"127.0.0.1.{EVIL}"},
    {"Host": f"127.0.0.1:8710@{EVIL}"},
    {"Host": "127.0.0.1", "X-Forwarded-Host": EVIL},
    {"Host": "127.0.0.1", "Forwarded": f"host={EVIL}"},
    {"Host": "127.0.0.1", "X-Host": EVIL, "X-Original-Host": EVIL, "X-Rewrite-URL": f"//{EVIL}/"},
    {"Host": "127.0.0.1:4444"},
    {"Host": "localhost."},
]
NEXT = [
    f"//{EVIL}", f"///{EVIL}", f"////{EVIL}", f"/\\{EVIL}", f"\\\\{EVIL}", f"\\/{EVIL}", f"/\\/{EVIL}",
    f"http:{EVIL}", f"https:{EVIL}", f"http:/{EVIL}", f"https:/{EVIL}", f"http:///{EVIL}", f"https:///{EVIL}",
    f"http://{EVIL}", f"HTTPS://{EVIL}", f"hTTp://{EVIL}", f"ftp://{EVIL}", f"http:\\\\{EVIL}",
    f"\t//{EVIL}", f"/\t/{EVIL}", f"\n//{EVIL}", f"/\n/{EVIL}", f"/\r/{EVIL}", f" //{EVIL}", f"\x01//{EVIL}",
    f"//127.0.0.1@{EVIL}", f"http://127.0.0.1@{EVIL}", f"http://127.0.0.1:80@{EVIL}", f"http://127.0.0.1.{EVIL}",
    f"http://{EVIL}#127.0.0.1", f"http://{EVIL}?127.0.0.1", f"http://{EVIL}\\@127.0.0.1", f"//{EVIL}%2f@127.0.0.1",
    "javascript:alert(1)", "JaVaScRiPt:alert(1)", "java\tscript:alert(1)", " javascript:alert(1)",
    "data:text/html,<script>alert(1)</script>", "vbscript:x", "blob:http://127.0.0.1/x", "file:///etc/passwd",
    "//elsewhere。example", "//еlsewhere.example", "http://[::1", "http://[elsewhere.example]", "%2f%2felsewhere.example",
    "/%09/elsewhere.example", "/store\r\nSet-Cookie: a=b", "//;@elsewhere.example", "x:elsewhere.example",
]  # fmt: skip


def leaves(location: str) -> bool:
    """Whether a browser that stands on our sign-in page would go to another house, or run something."""
    plain = "".join(sign for sign in location if sign not in "\t\r\n").strip("\x00\x01 ").replace("\\", "/")
    there = urlsplit(urljoin("http://testserver/sign-in", plain))
    return there.scheme not in ("http", "https") or there.hostname not in OWN or "\n" in location


def faults_of(lead: Client, n: int, headers: dict[str, str]) -> list[str]:
    """What is wrong with the answers and the letters when each letter with a link is asked for under another name."""
    before, told = (
        Letter.objects.count(),
        {"name": "Teo", "email": f"teo{n}@aldermouth.example", "roles": "counter"},
    )
    forgotten = {"email": f"{PEOPLE[n % len(PEOPLE)]}@aldermouth.example"}
    answers = [
        Client().post("/forgotten-password", forgotten, headers=headers, REMOTE_ADDR=f"192.0.2.{n}"),
        lead.post("/office/people/invite", told | {"once": f"k{n}"}, headers=headers),
        lead.get("/", headers=headers),
        Client().get("/store", headers=headers),
    ]
    refused = EVIL in headers["Host"]
    letters = list(Letter.objects.order_by("pk")[before:])
    found = [] if {each.status_code for each in answers} == ({400} if refused else {302}) else ["status"]
    found += [] if len(letters) == (0 if refused else 2) else ["letters"]
    texts = [message_from_bytes(bytes(row.body), policy=default).get_content() for row in letters]
    found += [
        text for text in texts if f"{settings.BASE_URL}/choose-password?key=" not in text or EVIL in text
    ]
    said = [each.content.decode() + each.headers.get("Location", "") for each in answers]
    return found + [text for text in said if EVIL in text]


PEOPLE = ["lead", "counter", "technician", "inspector", "storekeeper"]


def test_it_works(people: dict[str, Person]) -> None:
    """A link in a letter is ours, whatever name the request was sent to."""
    lead = Client()
    lead.force_login(people["lead"])

    found = {
        str(headers): faults for n, headers in enumerate(HOSTS) if (faults := faults_of(lead, n, headers))
    }

    assert found == {}
    assert len(HOSTS) >= 12


def test_it_writes_no_other_name_to_a_customer(house: House, api: dict[str, Api]) -> None:
    """The letter that a person asks for on a page; reminders are written by the clock, without any request."""
    walk, seen = Walk(house, api).to("signed_off"), []
    for n, headers in enumerate(HOSTS):
        with transaction.atomic():
            given: Any = {"format": "json", "headers": {"Idempotency-Key": f'"{n}"'} | headers}
            path = f"/api/v1/drop-offs/{walk.drop_off}/asked"
            answer = walk.api["counter"].client.post(path, {"how": "e-mail"}, **given)
            letters = [bytes(row.body) for row in Letter.objects.filter(purpose="ready to collect")]
            seen.append((answer.status_code, len(letters), EVIL in str(letters) + answer.content.decode()))
            transaction.set_rollback(True)

    assert seen == [(400, 0, False) if EVIL in each["Host"] else (201, 1, False) for each in HOSTS]


def test_it_leads_nobody_elsewhere(people: dict[str, Person]) -> None:
    given = {"username": "counter@aldermouth.example", "password": PASSWORD}
    found = []
    for n, to in enumerate(NEXT):
        cache.clear()  # the limits are not what is looked at
        client, other = Client(REMOTE_ADDR=f"192.0.2.{n}"), Client(REMOTE_ADDR=f"198.51.100.{n}")
        answers = [
            other.get("/sign-in", {"next": to}),
            client.post("/sign-in", given | {"next": to}),
            other.post("/sign-in", given, query_params={"next": to}),
            client.post("/you/confirm", {"password": PASSWORD, "next": to}),
            client.post("/sign-out", {"next": to}),
        ]
        assert [answer.status_code for answer in answers] == [200, 302, 302, 302, 302], to
        found += [answer["Location"] for answer in answers[1:] if leaves(answer["Location"])]

    assert found == []


def test_it_knows_what_leads_elsewhere() -> None:
    assert len(NEXT) >= 40
    assert [to for to in ("/store", "store", "?a=b", "http://127.0.0.1/x") if leaves(to)] == []
    assert all(
        leaves(to) for to in (f"//{EVIL}", f"\\\\{EVIL}", f"\t//{EVIL}", "java\tscript:x", f"https:/{EVIL}/")
    )
