"""The link of a drop-off, and photographs that may be shared under it."""

from typing import Any

from django.db import transaction

from jobs.checkin.actions import photograph_line
from jobs.flow.models import DropOff
from shop.files.models import Photograph
from shop.files.reads import re_encoded
from shop.links.actions import make_links
from shop.links.rules import LinkFor, Wanted
from tests.photographs import encoded
from tests.walk import Walk


def linked(drop_off: DropOff) -> str:
    """The path of a new link to a drop-off, as a letter has it."""
    with transaction.atomic():
        (address,) = make_links(wanted=[Wanted(drop_off.customer, LinkFor.PORTHOLE, drop_off.uid)])
    return address.removeprefix("http://127.0.0.1:8710")


def pictured(walk: Walk, words: str = "As it came.") -> Photograph:
    """A photograph of what a walk put on the counter."""
    given: dict[str, Any] = {"by": walk.house.people["counter"], "line": walk.row.line}
    return photograph_line(photograph=re_encoded(encoded()), words=words, **given)
