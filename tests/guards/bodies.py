"""One entry of the table of addresses, and bodies of valid requests.

A text that begins with @ stands for the uid of that row of the `World`.
"""

from dataclasses import dataclass
from typing import Any

from shop.staff.rules import Can
from tests.conftest import PASSWORD, SECRET
from tests.photographs import SPOT


@dataclass(frozen=True)
class Entry:
    """One method of one address; `right` None means that being signed in is enough, `public` that nothing is asked.

    `signed`: the body carries the headers of Standard Webhooks instead.
    """

    right: Can | None = None
    row: str = ""
    key: str = ""
    body: Any = None
    public: bool = False
    signed: bool = False


SEE = Entry(Can.SEE)

PERSON = {
    "name": "Iolo Marsh",
    "email": "iolo@aldermouth.example",
    "password": "a lantern at high water",
    "signing_secret": "signed with chalk",
    "roles": ["counter"],
}
AUTHORISATION = {"maker": "Tarnwell", "kind": "", "last_day": "2199-12-31"}
ROLES = {"roles": ["technician", "counter"]}
TOKEN = {"label": "web shop", "scopes": ["see"], "days": 3}
CUSTOMER = {"kind": "person", "name": "Rowan Achterberg", "email": "rowan@achterberg.example"}
MODEL = {"maker": "Pellmoor", "name": "Tor", "kind": "first_stage"}
PLAN = {"key": "overhaul", "document": "@@plan"}
WITHDRAWAL = {"reason": "A limit in it is wrong."}
ITEM = {"model": "@model", "serial": "P-1"}
INSTRUMENT = {"code": "TW-9", "name": "Wrench", "kind": "torque wrench", "unit": "N_m", "resolution": "0.5"}
CALIBRATION = {"done_on": "2026-01-01", "good_to": "2199-01-01", "certificate": "C-9"}
CHECK = {"done_on": "2026-01-01", "against": "MG-1", "deviation": "0.1", "found": "good"}
ADVICE = {"what": "creep", "side": "above", "kind": "", "part": "Spring", "words": "It has settled."}
CYLINDERS = {"tested_by": "ourselves"}
PART = {"number": "TH-900", "name": "Ring", "unit": "piece"}
RECEIVE = {"number": "TH-302-B", "cured": "2Q26", "quantity": 4}
THRESHOLD = {"threshold": "22.0"}
USED_WITH = {"oxygen": "21.0"}
REACH = {"reach": "01632 960 400, The Slip, Aldermouth"}
FITNESS = {"fit_for": ["air", "oxygen"], "fit_source": "the maker's sheet"}
SITE_LEVEL = {"site": "Workshop", "minimum": 5, "up_to": 20}
LEVELS = {"size": "AS568-012", "minimum": 5, "up_to": 20}
LEVEL = {"level": 95}
BIN = {"site": "Workshop", "label": "A 9"}
NUMBER = {"lot": "@old_lot", "counted": 3}
WHY = {"reason": "the year's end"}
EXTENSION = {"subject": "Soft, no cracks."}
USE = {"quantity": 1, "subject": "a bench trial"}
LINE = {"item": "@item", "plan": "@plan", "contents": "no gas"}
GO_AHEAD = {"amount": "500.00", "given_by": "Maja Lindqvist", "how": "in person"}
ASSIGN = {"technician": "@technician"}
MOVE = {"to": "cleared", "reason": ""}
ENDING = {"ending": "reused"}
SCAN = {"lot": "@@lot code"}
LOG = Entry(
    Can.TEST, "traced_job", "intermediate_pressure", {"phase": "as received", "instrument": "@logger"}
)
CHUNK = {"samples": "9000.0,9.50\n9000.1,9.51"}
THROW_AWAY = Entry(Can.TEST, "logging", body={"reason": "The hose came off."})
TEST = {"phase": "final", "instrument": "@gauge", "figures": {"first": "3.1"}, "why_again": "Set anew."}
TEST_PAGE = {"phase": "final", "instrument": "@gauge", "figures.first": "3.1", "why_again": "Set anew."}
SIGN = {"outcome": "failed", "words": "It breathes wet.", "secret": SECRET}
COLLECT = {"collector": "Maja Lindqvist", "acknowledged": True}
INVITED = {"name": "Sela Brandt", "email": "sela@aldermouth.example", "roles": ["counter"]}
CHOSEN = {"password": "a lantern on the breakwater", "signing_secret": "signed with charcoal"}
NEW_PASSWORD = {"password": PASSWORD, "new_password": "a lantern on the breakwater"}
NEW_SECRET = {"password": PASSWORD, "signing_secret": "signed with charcoal"}
SIGN_IN = {"username": "lead@aldermouth.example", "password": PASSWORD}

PHOTOGRAPH = {"photograph": "@@photograph", "words": "the yoke"}
DOCUMENT = {"document": "@@document"}
BATCH = {"what": "customers", "file": "@@sheet"}
MERGE_CUSTOMER = {"into": "@customer"}
MERGE_ITEM = {"into": "@item"}
OWNER = {"owner": "@other_customer"}
MARK = {"kind": "serial", "value": "TH-77"}
SPLIT = {"identifiers": ["@identifier"]}

HOLD = {"kind": "customer", "why": "Whether to renew the hose."}
LIFT = {"why": "The seats have come."}
CUSTODY = {"where": "outside", "holder": "Aldermouth Test House", "seal": "AT-118"}
INSIDE = {"contents": "no gas"}
PROMISE_DAY = {"promised_on": "2199-02-01", "why": "Seats come next week."}
HAND_ON = {"technician": "@inspector", "condition": "As the sheets say."}
BAG = {"words": "a regulator in a green bag"}
ITEMISED = {"item": "@item", "plan": "@plan"}
MANY = {"model": "@model", "plan": "@plan", "contents": "no gas"}
SUPPLIER = {"name": "Kelder Seals", "email": "orders@kelder.example", "lead_days": 9}
OFFER = {"supplier": "@other_supplier", "number": "KS-1", "pack_size": 10, "price": "12.50"}
TERMS = {"number": "KS-2", "pack_size": 5, "price": "7.00"}
WISHES = {"lines": [{"offer": "@offer", "packs": 2}]}
PACKS = {"packs": 2}
SENDING = {"how": "telephone"}
CAME = {"number": "TH-302-C", "cured": "2Q26", "quantity": 4}
ALTERNATIVE = {
    "other": "@kit",
    "condition": "For gear of the second series.",
    "source": "The maker's bulletin 12.",
}
ENDED = {"why": "The bulletin was taken back."}
CONTENT = {"part": "@other_part", "count": 2}
ASK = {"how": "telephone"}
DISPOSE = {"how": "Given to the scrap dealer."}

SET = {"name": "her cold-water set", "items": ["@loose_item"]}
PUT_IN = {"item": "@loose_item"}
TAKE_OUT = {"item": "@set_item"}
DOUBT = {"lot": "@old_lot", "why": "It smells of solvent."}
ANSWER = {"became": "stands", "words": "Measured again: as it was."}
CLOSE = {"words": "Nothing of it was used."}

# Papers have the same addresses as pages and in the API.
PAPERS: dict[str, dict[str, Entry]] = {
    "items/<uuid:uid>/tag.pdf": {"GET": Entry(Can.SEE, "item")},
    "lots/<uuid:uid>/label.pdf": {"GET": Entry(Can.SEE, "lot")},
    "parts/<uuid:uid>/labels.pdf": {"GET": Entry(Can.SEE, "part")},
    "bins/<uuid:uid>/label.pdf": {"GET": Entry(Can.SEE, "bin")},
    "jobs/<uuid:uid>/sheet.pdf": {"GET": Entry(Can.SEE, "open_job")},
    "jobs/<uuid:uid>/bench-sheet.pdf": {"GET": Entry(Can.SEE, "testing_job")},
    "drop-offs/<uuid:uid>/ticket.pdf": {"GET": Entry(Can.SEE, "drop_off")},
    "drop-offs/<uuid:uid>/tags.pdf": {"GET": Entry(Can.SEE, "drop_off")},
    "drop-offs/<uuid:uid>/papers.pdf": {"GET": Entry(Can.SEE, "drop_off")},
    "records/<uuid:uid>/record.pdf": {"GET": Entry(Can.SEE, "record")},
    "records/<uuid:uid>/do-not-dive.pdf": {"GET": Entry(Can.SEE, "record")},
    "hand-backs/<uuid:uid>/slip.pdf": {"GET": Entry(Can.SEE, "hand_back")},
    "orders/<uuid:uid>/order.pdf": {"GET": Entry(Can.SEE, "order")},
    "drop-offs/<uuid:uid>/estimate.pdf": {"GET": Entry(Can.SEE, "priced")},
    "bills/<uuid:uid>/bill.pdf": {"GET": Entry(Can.SEE, "bill")},
}

ADVICE_PAGES = {
    "office/advice": {"GET": SEE},
    "office/advice/new": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=ADVICE)},
    "office/advice/shipped": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS)},
    "office/advice/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "advice"),
        "POST": Entry(Can.KEEP_PLANS, "advice", body=ADVICE),
    },
    "office/advice/<uuid:uid>/withdraw": {
        "GET": Entry(Can.SEE, "advice"),
        "POST": Entry(Can.KEEP_PLANS, "advice"),
    },
}
SPOTS = {
    "GET": Entry(Can.SEE, "photograph"),
    "POST": Entry(Can.KEEP_GEAR, "photograph", body=SPOT),
}
