"""P4: guesses at private links: none opens anything, and every answer is the same, byte by byte.

`EBBWRIGHT_GUESSES=100000` sends as many requests, by hand, for it takes long.
"""

import os
import random
from datetime import timedelta
from secrets import token_urlsafe
from string import ascii_letters, digits

from django.test import Client

from shop.links.actions import revoke_links
from shop.links.models import Link
from shop.links.reads import link_of
from shop.workshop.reads import now
from tests.answers.made import linked, overdue
from tests.conftest import Api, House
from tests.porthole.made import linked as porthole
from tests.walk import Walk

SIGNS = ascii_letters + digits + "-_"
GUESSES = 2_000
ASKED = int(os.environ.get("EBBWRIGHT_GUESSES") or 400)


def neighbours(secret: str) -> set[str]:
    """Every other sign in every place, among them each flipped bit; cut, longer, in another case, turned round."""
    near = {secret[:i] + sign + secret[i + 1 :] for i in range(len(secret)) for sign in SIGNS}
    near |= {
        secret[:-1],
        secret[1:],
        f"{secret}A",
        f"{secret}=",
        secret.swapcase(),
        secret.lower(),
        secret[::-1],
    }
    return near - {secret}


def test_it_works(house: House) -> None:
    """In 4 700 guesses, among them all 2 700 neighbours of a valid link, 0 hits."""
    secret = linked(house).rpartition("/")[2]
    guesses = neighbours(secret) | {token_urlsafe(32) for _ in range(GUESSES)}
    guesses |= {Link.objects.get().digest, "", "answer"}

    assert link_of(secret)
    assert [each for each in guesses if link_of(each)] == []
    assert len(guesses) > 4_700


def test_it_opens_no_page_whoever_guesses_from_wherever(house: House, api: dict[str, Api]) -> None:
    """Both kinds of link, guessed at from addresses that are not slowed: half at the neighbours of a valid one, then any."""
    valid = [linked(house), porthole(Walk(house, api).row.drop_off)]
    client, found = Client(), set()

    for nth, path in enumerate(valid):
        door, _, secret = path.rpartition("/")
        near = sorted(each for each in neighbours(secret) if "=" not in each)
        near = random.Random(4).sample(near, min(len(near), ASKED // 4))
        guesses = near + [token_urlsafe(32) for _ in range(ASKED // 2 - len(near))]
        for n, guess in enumerate(guesses):
            answer = client.get(f"{door}/{guess}", REMOTE_ADDR=f"10.{nth}.{n >> 8}.{n & 255}")
            found.add((door, answer.status_code, answer.content, tuple(sorted(answer.headers.items()))))

    assert sorted((door, status) for door, status, *_ in found) == [("/answer", 404), ("/porthole", 404)]
    assert [client.get(path).status_code for path in valid] == [200, 200]


def test_it_answers_every_guess_alike(house: House) -> None:
    """Unknown, near, ended, revoked and of another purpose: 404 with the same bytes and headers, at each address and method."""
    ended, revoked, other = linked(house), linked(house), linked(house)
    newest = Link.objects.order_by("-pk")[0]
    Link.objects.filter(pk=newest.pk).update(purpose="porthole")
    oldest = Link.objects.order_by("pk")[0]
    Link.objects.filter(pk=oldest.pk).update(ends_at=now() - timedelta(seconds=1))
    revoke_links(by=house.people["counter"], customer=house.customer)
    near = random.Random(20261127).sample(sorted(neighbours(revoked.rpartition("/")[2])), 40)
    guesses = [ended, revoked, other, *(f"/answer/{each}" for each in near if "=" not in each)]

    found = set()
    for n, path in enumerate(guesses):
        client = Client(REMOTE_ADDR=f"192.0.2.{n}")
        for more in ("", "/one-click", "/gone"):
            for method in ("GET", "POST"):
                answer = client.generic(method, path + more)
                headers = tuple(sorted((k, v) for k, v in answer.headers.items()))
                found.add((answer.status_code, answer.content, headers))

    assert len(found) == 1
    assert next(iter(found))[0] == 404


def test_it_slows_whoever_guesses(house: House) -> None:
    """60 in a minute from one address; the next is told to wait, whether the link is good or not."""
    path, client = linked(house), Client(REMOTE_ADDR="192.0.2.7")
    tries = [client.get(f"/answer/{token_urlsafe(32)}").status_code for _ in range(60)]

    assert set(tries) == {404}
    good, bad = client.get(path), client.get("/answer/x")
    assert (good.status_code, good.content) == (bad.status_code, bad.content)
    assert good.status_code == 429
    assert Client(REMOTE_ADDR="192.0.2.8").get(path).status_code == 200


def test_it_slows_whoever_sends_files(house: House) -> None:
    """Proof is taken 10 times in a minute from one address; the page itself still opens."""
    overdue(house)
    path, client = linked(house), Client(REMOTE_ADDR="192.0.2.9")
    tries = [client.post(f"{path}/elsewhere", {}).status_code for _ in range(11)]

    assert tries == [400] * 10 + [429]
    assert client.get(f"{path}/elsewhere").status_code == 200
