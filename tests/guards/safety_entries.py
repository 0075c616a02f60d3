"""What each method of each address about safety notices needs."""

from shop.staff.rules import Can
from tests.guards.bodies import SEE, WHY, Entry

KEEP, ANSWER = Can.KEEP_NOTICES, Can.ANSWER_NOTICE
TITLED = {"title": "Cracked yokes", "source": "Tarnwell, bulletin 7 of 2026"}
NOTICE = TITLED | {"ranges": "ZZ100 to ZZ200"}
ANSWERED = {"became": "told", "words": "By telephone."}
TOLD = {"customer": "@customer", "words": "By telephone."}

SAFETY_API: dict[str, dict[str, Entry]] = {
    "notices": {"GET": SEE, "POST": Entry(KEEP, body=NOTICE)},
    "notices/<uuid:uid>": {"GET": Entry(Can.SEE, "notice")},
    "notices/<uuid:uid>/matches": {"GET": Entry(Can.SEE, "notice")},
    "notices/<uuid:uid>/export": {"GET": Entry(Can.SEE, "notice")},
    "notices/<uuid:uid>/calls": {"GET": Entry(Can.SEE, "notice")},
    "notices/<uuid:uid>/letters": {"POST": Entry(KEEP, "notice")},
    "notices/<uuid:uid>/told": {"POST": Entry(ANSWER, "notice", body=TOLD)},
    "notices/<uuid:uid>/withdrawals": {"POST": Entry(KEEP, "notice", body=WHY)},
    "matches/<uuid:uid>/answers": {"POST": Entry(ANSWER, "match", body=ANSWERED)},
    "lots/<uuid:uid>/notices": {"POST": Entry(Can.KEEP_STOCK, "lot", body=TITLED)},
}
SAFETY_PAGES: dict[str, dict[str, Entry]] = {
    "office/notices": {"GET": SEE},
    "office/notices/new": {"GET": SEE, "POST": Entry(KEEP, body=NOTICE)},
    "office/notices/<uuid:uid>": {"GET": Entry(Can.SEE, "notice")},
    "office/notices/<uuid:uid>/withdraw": {
        "GET": Entry(Can.SEE, "notice"),
        "POST": Entry(KEEP, "notice", body=WHY),
    },
    "office/notices/<uuid:uid>/letters": {"GET": Entry(Can.SEE, "notice"), "POST": Entry(KEEP, "notice")},
    "office/notices/<uuid:uid>/matches.csv": {"GET": Entry(Can.SEE, "notice")},
    "office/notices/<uuid:uid>/matches.json": {"GET": Entry(Can.SEE, "notice")},
    "office/matches/<uuid:uid>/told": {
        "GET": Entry(Can.SEE, "match"),
        "POST": Entry(ANSWER, "match", body=TOLD),
    },
    "office/matches/<uuid:uid>/answer": {
        "GET": Entry(Can.SEE, "match"),
        "POST": Entry(ANSWER, "match", body=ANSWERED),
    },
    "store/lots/<uuid:uid>/notice": {
        "GET": Entry(Can.SEE, "lot"),
        "POST": Entry(Can.KEEP_STOCK, "lot", body=TITLED),
    },
}
