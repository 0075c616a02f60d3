"""What each method of each address of portholes needs."""

from datetime import date
from typing import Any

from jobs.checkin.actions import photograph_line
from jobs.flow.models import DropOff
from jobs.porthole.actions import ask, share
from shop.files.reads import re_encoded
from shop.links.models import Link
from shop.links.rules import LinkFor, digest_of
from shop.staff.rules import Can
from shop.workshop.reads import noon, now
from tests.guards.bodies import Entry
from tests.photographs import encoded

BEHIND = "a-porthole-of-the-guards"
KEEP = Can.KEEP_CUSTOMERS
OPENS = Entry(public=True, key=BEHIND)
FIRST = Entry(public=True, key=f"{BEHIND}/1")
ENDED = "2026-11-27 12:00:00+00:00"
SAID = {"answer": "On Friday, if the part comes."}

PORTHOLE_API: dict[str, dict[str, Entry]] = {
    "drop-offs/<uuid:uid>/porthole": {"GET": Entry(Can.SEE, "signed")},
    "drop-offs/<uuid:uid>/porthole/link": {"POST": Entry(Can.CHECK_IN, "signed")},
    "drop-offs/<uuid:uid>/porthole/end": {"POST": Entry(KEEP, "signed")},
    "photographs/<uuid:uid>/share": {"POST": Entry(KEEP, "other_photograph")},
    "photographs/<uuid:uid>/take-back": {"POST": Entry(KEEP, "shared_photograph")},
    "questions": {"GET": Entry(Can.SEE)},
    "questions/<uuid:uid>/answer": {"POST": Entry(KEEP, "question", body=SAID)},
}
PORTHOLE_PAGES: dict[str, dict[str, Entry]] = {
    "porthole/<slug:secret>": {"GET": OPENS},
    "porthole/<slug:secret>/ask": {
        "GET": OPENS,
        "POST": Entry(public=True, key=BEHIND, body={"text": "Is it done?"}),
    },
    "porthole/<slug:secret>/photographs/<int:n>": {"GET": FIRST},
    "porthole/<slug:secret>/ticket.pdf": {"GET": OPENS},
    "porthole/<slug:secret>/records/<int:n>.pdf": {"GET": FIRST},
    "drop-offs/<uuid:uid>/porthole": {"GET": Entry(Can.SEE, "signed")},
    "drop-offs/<uuid:uid>/porthole/link": {
        "GET": Entry(Can.SEE, "signed"),
        "POST": Entry(Can.CHECK_IN, "signed"),
    },
    "drop-offs/<uuid:uid>/porthole/end": {"GET": Entry(Can.SEE, "signed"), "POST": Entry(KEEP, "signed")},
    "photographs/<uuid:uid>/share": {
        "GET": Entry(Can.SEE, "other_photograph"),
        "POST": Entry(KEEP, "other_photograph"),
    },
    "photographs/<uuid:uid>/take-back": {
        "GET": Entry(Can.SEE, "shared_photograph"),
        "POST": Entry(KEEP, "shared_photograph"),
    },
    "questions": {"GET": Entry(Can.SEE)},
    "questions/<uuid:uid>/answer": {
        "GET": Entry(Can.SEE, "question"),
        "POST": Entry(KEEP, "question", body=SAID),
    },
}
PORTHOLE_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    (
        "shared_n",
        "porthole_shared.drop_off_id, porthole_shared.n",
        "porthole_shared",
        {"ended_at": ENDED, "ended_by_id": 1},
    ),
    ("shared_once", "porthole_shared.photograph_id", "porthole_shared", {"n": 9001}),
]
PORTHOLE_CONSTRAINTS: list[tuple[str, str, dict[str, Any]]] = [
    ("shared_ended_by_somebody", "porthole_shared", {"ended_at": ENDED}),
    ("question_answered_by_somebody", "porthole_question", {"answered_at": ENDED}),
    ("question_answered_by_somebody", "porthole_question", {"answer": "Yes."}),
]


def porthole_rows(by: Any, drop_off: DropOff) -> dict[str, Any]:
    """A link to a drop-off whose secret is known, a photograph that is shared and one that is not, a question that waits."""
    given: dict[str, Any] = {"customer": drop_off.customer, "about": drop_off.uid, "made_at": now()}
    ends = noon(date(2199, 1, 1))
    link = Link.objects.create(purpose=LinkFor.PORTHOLE, digest=digest_of(BEHIND), ends_at=ends, **given)
    job, picture = drop_off.jobs.all()[0], re_encoded(encoded())
    shared = photograph_line(by=by, line=job.line, photograph=picture, words="As it came.")
    share(by=by, photograph=shared)
    other = photograph_line(by=by, line=job.line, photograph=picture, words="The seat.")
    question = ask(link=link, text="When may I come?")
    return {"shared_photograph": shared, "other_photograph": other, "question": question}
