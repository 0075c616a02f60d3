"""A5: nobody learns from an answer whether an address is somebody's."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client

from tests.guards.conftest import stage as stage
from tests.guards.conftest import world as world
from tests.guards.conftest import world_of_the_file as world_of_the_file
from tests.guards.world import World

HERE, NOBODY = "counter@aldermouth.example", "teresa1@aldermouth.example"


def sign_in(email: str) -> Any:
    return Client().post("/sign-in", {"username": email, "password": "a lantern at low water"})


def forgotten(email: str) -> Any:
    return Client().post("/forgotten-password", {"email": email})


def told(answer: Any, typed: str) -> tuple[Any, ...]:
    """All that an answer tells, without what was typed and the token of the form."""
    body = re.sub(r'(csrfmiddlewaretoken" value=")\w+', r"\1", answer.content.decode()).replace(typed, "")
    headers = {name: value for name, value in answer.items() if name not in ("Content-Length", "Expires")}
    return answer.status_code, body, headers, sorted(answer.cookies)


@pytest.mark.parametrize("ask", [sign_in, forgotten])
def test_it_works(world: World, ask: Callable[[str], Any]) -> None:
    """Somebody, nobody, who has left and who was invited only: told the same until the limit and beyond."""
    addresses = [HERE, NOBODY, world.rows["left"].email, world.rows["invited"].email]
    found: dict[str, list[Any]] = {}
    for email in addresses:
        cache.clear()
        found[email] = [told(ask(email), email) for _ in range(7)]

    assert len({answers[0][0] for answers in found.values()}) == 1
    for email, answers in found.items():
        assert answers == found[HERE], email
    assert found[HERE][-1][0] == 429


def test_it_tells_of_no_dead_link_why_it_is_dead(world: World) -> None:
    """A link that was used, is made up, was changed, or is of somebody who has left."""
    key = world.key
    chosen = {"password": "a lantern on the breakwater", "signing_secret": "signed with charcoal"}
    assert Client().post("/choose-password", chosen | {"key": key}).status_code == 302
    keys = [key, key[:-1] + ("A" if key[-1] != "A" else "B"), "x", "", key[:40], key.swapcase()]

    answers = [told(Client().get("/choose-password", {"key": each}), "\0") for each in keys]
    sent = [told(Client().post("/choose-password", chosen | {"key": each}), "\0")[0] for each in keys]

    assert all(answer == answers[0] for answer in answers)
    assert len(set(sent)) == 1
