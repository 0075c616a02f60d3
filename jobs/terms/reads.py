"""The terms that are asked for now, whether they were accepted, and how a ticket prints them."""

from typing import Any

from jobs.flow.models import DropOff
from jobs.terms.models import Accepted, Terms
from shop.paper.rules import Block, Facts, Heading, Words, moment, own
from shop.workshop.reads import zone


def newest() -> Terms | None:
    """The newest version, which may be empty."""
    return Terms.objects.order_by("-n").first()


def asked() -> Terms | None:
    """The terms that are asked for, if any."""
    row = newest()
    return row if row and row.text else None


def accepted(drop_off: DropOff) -> Accepted | None:
    """What was accepted for a drop-off, the newest."""
    return Accepted.objects.filter(drop_off=drop_off).select_related("terms").order_by("-pk").first()


def printed_terms(drop_off: DropOff) -> list[Block]:
    """The terms that were accepted, by whom; or those that are asked for, with a line to sign on."""
    row = accepted(drop_off)
    terms = row.terms if row else asked()
    if terms is None:
        return []
    said = (
        f"{row.how} by {own(row.name)}, {moment(row.at, zone())}"
        if row
        else "\n\nname, day, signature " + "." * 60
    )
    return [Heading(f"Terms, version {terms.n}"), Words(terms.text, 8), Facts([("accepted", said)])]


def office_panel(person: Any) -> tuple[str, dict[str, Any]]:
    """The way to the terms."""
    return "terms/office_panel.html", {"terms": asked()}
