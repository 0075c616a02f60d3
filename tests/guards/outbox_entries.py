"""What each method of each address about letters needs."""

from shop.staff.rules import Can
from tests.guards.bodies import SEE, Entry

SEES, KEEP = Can.SEE_LETTERS, Can.KEEP_LETTERS
GONE = {"address": "nobody@achterberg.example", "why": "A letter on paper came back too."}

OUTBOX_API: dict[str, dict[str, Entry]] = {
    "letters": {"GET": Entry(SEES)},
    "letters/<uuid:uid>/stop": {"POST": Entry(KEEP, "letter")},
    "letters/<uuid:uid>/send-again": {"POST": Entry(KEEP, "stopped_letter")},
    "suppressed": {"GET": Entry(SEES), "POST": Entry(KEEP, body=GONE)},
    "suppressed/<uuid:uid>/lift": {"POST": Entry(KEEP, "suppressed")},
    "bounces": {"POST": Entry(public=True, signed=True, body={"report": "not a report"})},
}
OUTBOX: dict[str, dict[str, Entry]] = {
    "office/letters": {"GET": Entry(SEES)},
    "office/letters/<uuid:uid>": {"GET": Entry(SEES, "letter")},
    "office/letters/<uuid:uid>/stop": {"GET": Entry(SEES, "letter"), "POST": Entry(KEEP, "letter")},
    "office/letters/<uuid:uid>/send-again": {
        "GET": Entry(SEES, "stopped_letter"),
        "POST": Entry(KEEP, "stopped_letter"),
    },
    "office/suppressed": {"GET": Entry(SEES)},
    "office/suppressed/new": {"GET": SEE, "POST": Entry(KEEP, body=GONE)},
    "office/suppressed/<uuid:uid>/lift": {
        "GET": Entry(SEES, "suppressed"),
        "POST": Entry(KEEP, "suppressed"),
    },
}
