"""What tests of safety notices say over the API."""

from typing import Any

from jobs.safety.actions import go_on
from jobs.safety.models import Look, Match
from tests.conftest import Api
from tests.walk import ok

TITLE = "Cracked yokes"
NAMED = {"title": TITLE, "source": "Tarnwell, bulletin 7 of 2026", "words": "The yoke may crack."}


def made(api: dict[str, Api], **names: Any) -> dict[str, Any]:
    """A notice that was looked through."""
    found: dict[str, Any] = ok(api["lead"].post("notices", NAMED | names), 201)
    looked()
    return found


def looked() -> None:
    for look in Look.objects.filter(done_at=None):
        go_on(look)


def matched(notice: dict[str, Any]) -> dict[str, str]:
    """The items and lots that match, by number, and how."""
    rows = Match.objects.filter(notice__uid=notice["uid"]).select_related("item", "lot")
    return {row.item.label if row.item else row.lot.number if row.lot else "": row.how for row in rows}


def answer(api: Api, match: Match, became: str = "checked and fine", **more: Any) -> Any:
    return api.post(
        f"matches/{match.uid}/answers", {"became": became, "words": "Looked at with a glass."} | more
    )


def the_match(**of: Any) -> Match:
    return Match.objects.get(**of)
