"""One's own sessions."""

from dataclasses import dataclass
from datetime import datetime

from allauth.usersessions.models import UserSession
from django.contrib.auth import HASH_SESSION_KEY
from django.contrib.sessions.models import Session

from shop.staff.models import Person
from shop.workshop.reads import now


@dataclass(frozen=True)
class OwnSession:
    """A session of one's own: where from, with what, since when; and whether it is the one that asks."""

    ip: str
    user_agent: str
    since: datetime
    present: bool


def own_sessions(person: Person, present: str | None) -> list[OwnSession]:
    """The sessions of somebody that still hold, newest first."""
    rows = {row.session_key: row for row in UserSession.objects.filter(user=person).order_by("-created_at")}
    standing = Session.objects.filter(session_key__in=rows, expire_date__gt=now())
    holds, right = set(), person.get_session_auth_hash()
    for each in standing:
        if each.get_decoded().get(HASH_SESSION_KEY) == right:
            holds.add(each.session_key)
    return [
        OwnSession(row.ip, row.user_agent, row.created_at, key == present)
        for key, row in rows.items()
        if key in holds
    ]
