"""A notice that matches one item of its own, for guards: it stops no other gear."""

from typing import Any

from jobs.safety.actions import go_on, make_notice
from jobs.safety.models import Match, Notice
from tests.conftest import House


def noted(house: House, serial: str = "NOTED-1") -> tuple[Notice, Match]:
    """A notice that was looked through, and what it matches."""
    house.item(serial=serial)
    given: Any = {"title": "Cracked yokes", "source": "Tarnwell, bulletin 7 of 2026"}
    notice = make_notice(by=house.people["lead"], ranges=[serial.replace("-", "")], **given)
    go_on(notice.look)
    return notice, notice.matches.get()
