"""What each method of each address needs: a right, the row that stands in the address, a body that is valid.

The permission matrix, the inventories, the header crawl and the query counts all read this one table. In a body, a text
that begins with @ stands for the uid of that row of the `World`.
"""

from dataclasses import dataclass
from typing import Any

from shop.staff.rules import RIGHTS, Can, Role
from tests.conftest import PASSWORD, SECRET


@dataclass(frozen=True)
class Entry:
    """One method of one address; `right` None means that being signed in is enough, `public` that nothing is asked."""

    right: Can | None = None
    row: str = ""
    key: str = ""
    body: Any = None
    public: bool = False


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
PART = {"number": "TH-900", "name": "Ring", "unit": "piece"}
RECEIVE = {"number": "TH-302-B", "cured": "2Q26", "quantity": 4}
USE = {"quantity": 1, "subject": "a bench trial"}
LINE = {"item": "@item", "plan": "@plan", "contents": "no gas"}
GO_AHEAD = {"amount": "500.00", "given_by": "Maja Lindqvist", "how": "in person"}
ASSIGN = {"technician": "@technician"}
MOVE = {"to": "cleared", "reason": ""}
ENDING = {"ending": "reused"}
TEST = {"phase": "final", "instrument": "@gauge", "reading": "3.1", "unit": "mbar"}
SIGN = {"outcome": "failed", "words": "It breathes wet.", "secret": SECRET}
COLLECT = {"collector": "Maja Lindqvist", "acknowledged": True}
INVITED = {"name": "Sela Brandt", "email": "sela@aldermouth.example", "roles": ["counter"]}
CHOSEN = {"password": "a lantern on the breakwater", "signing_secret": "signed with charcoal"}
NEW_PASSWORD = {"password": PASSWORD, "new_password": "a lantern on the breakwater"}
NEW_SECRET = {"password": PASSWORD, "signing_secret": "signed with charcoal"}
SIGN_IN = {"username": "lead@aldermouth.example", "password": PASSWORD}

# Papers have the same addresses as pages and in the API.
PAPERS: dict[str, dict[str, Entry]] = {
    "items/<uuid:uid>/tag.pdf": {"GET": Entry(Can.SEE, "item")},
    "jobs/<uuid:uid>/sheet.pdf": {"GET": Entry(Can.SEE, "open_job")},
    "drop-offs/<uuid:uid>/ticket.pdf": {"GET": Entry(Can.SEE, "drop_off")},
    "drop-offs/<uuid:uid>/tags.pdf": {"GET": Entry(Can.SEE, "drop_off")},
    "records/<uuid:uid>/record.pdf": {"GET": Entry(Can.SEE, "record")},
    "records/<uuid:uid>/do-not-dive.pdf": {"GET": Entry(Can.SEE, "record")},
    "hand-backs/<uuid:uid>/slip.pdf": {"GET": Entry(Can.SEE, "hand_back")},
}
API: dict[str, dict[str, Entry]] = {
    "people": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=PERSON)},
    "people/<uuid:uid>/authorisations": {"POST": Entry(Can.KEEP_PEOPLE, "technician", body=AUTHORISATION)},
    "invitations": {"POST": Entry(Can.KEEP_PEOPLE, body=INVITED)},
    "people/<uuid:uid>/invitations": {"POST": Entry(Can.KEEP_PEOPLE, "invited")},
    "you/sessions": {"GET": Entry(Can.KEEP_OWN_TOKENS)},
    "you/sessions/end": {"POST": Entry(Can.KEEP_OWN_TOKENS)},
    "you/password": {"POST": Entry(Can.KEEP_OWN_TOKENS, body=NEW_PASSWORD)},
    "you/signing-secret": {"POST": Entry(Can.KEEP_OWN_TOKENS, body=NEW_SECRET)},
    "people/<uuid:uid>": {"GET": Entry(Can.SEE, "technician")},
    "people/<uuid:uid>/roles": {"POST": Entry(Can.KEEP_PEOPLE, "technician", body=ROLES)},
    "people/<uuid:uid>/deactivate": {"POST": Entry(Can.KEEP_PEOPLE, "technician")},
    "people/<uuid:uid>/reactivate": {"POST": Entry(Can.KEEP_PEOPLE, "left")},
    "authorisations/<uuid:uid>/end": {
        "POST": Entry(Can.KEEP_PEOPLE, "authorisation", body={"last_day": "2026-01-01"})
    },
    "tokens": {"GET": Entry(Can.KEEP_OWN_TOKENS), "POST": Entry(Can.KEEP_OWN_TOKENS, body=TOKEN)},
    "tokens/<uuid:uid>/end": {"POST": Entry(Can.KEEP_OWN_TOKENS, "token")},
    "find": {"GET": SEE},
    "customers": {"GET": SEE, "POST": Entry(Can.KEEP_CUSTOMERS, body=CUSTOMER)},
    "customers/<uuid:uid>": {
        "GET": Entry(Can.SEE, "customer"),
        "PUT": Entry(Can.KEEP_CUSTOMERS, "customer", body=CUSTOMER),
    },
    "models": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=MODEL)},
    "models/<uuid:uid>/plans": {"POST": Entry(Can.KEEP_PLANS, "model", body=PLAN)},
    "models/<uuid:uid>/drafts": {"POST": Entry(Can.KEEP_PLANS, "model", body=PLAN)},
    "plans": {"GET": SEE},
    "plans/<uuid:uid>": {"GET": Entry(Can.SEE, "plan")},
    "plans/<uuid:uid>/drafts": {"POST": Entry(Can.KEEP_PLANS, "plan")},
    "plans/<uuid:uid>/withdrawals": {"POST": Entry(Can.KEEP_PLANS, "plan", body=WITHDRAWAL)},
    "plans/<uuid:uid>/differences": {"GET": Entry(Can.SEE, "plan")},
    "drafts": {"GET": SEE},
    "drafts/<uuid:uid>": {
        "GET": Entry(Can.SEE, "draft"),
        "PUT": Entry(Can.KEEP_PLANS, "draft", body={"document": "@@plan"}),
    },
    "drafts/<uuid:uid>/issue": {"POST": Entry(Can.KEEP_PLANS, "draft")},
    "drafts/<uuid:uid>/set-aside": {"POST": Entry(Can.KEEP_PLANS, "draft")},
    "items": {"GET": SEE, "POST": Entry(Can.KEEP_GEAR, body=ITEM | {"owner": "@customer"})},
    "items/<uuid:uid>": {"GET": Entry(Can.SEE, "item")},
    **PAPERS,
    "instruments": {"GET": SEE, "POST": Entry(Can.KEEP_INSTRUMENTS, body=INSTRUMENT)},
    "instruments/<uuid:uid>/calibrations": {"POST": Entry(Can.KEEP_INSTRUMENTS, "wrench", body=CALIBRATION)},
    "parts": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=PART)},
    "parts/<uuid:uid>/lots": {"POST": Entry(Can.KEEP_STOCK, "part", body=RECEIVE)},
    "lots/<uuid:uid>/use": {"POST": Entry(Can.KEEP_STOCK, "lot", body=USE)},
    "clocks": {"GET": SEE},
    "jobs": {"GET": SEE},
    "jobs/<uuid:uid>": {"GET": Entry(Can.SEE, "new_job")},
    "jobs/<uuid:uid>/sheet": {"GET": Entry(Can.SEE, "open_job")},
    "jobs/<uuid:uid>/moves": {"POST": Entry(Can.MOVE, "new_job", body=MOVE)},
    "jobs/<uuid:uid>/empty": {"POST": Entry(Can.WORK, "new_job")},
    "jobs/<uuid:uid>/steps/<slug:key>": {"POST": Entry(Can.WORK, "open_job", "ports", {"counted": 5})},
    "jobs/<uuid:uid>/parts/<slug:key>": {"POST": Entry(Can.WORK, "open_job", "port_plugs", ENDING)},
    "jobs/<uuid:uid>/tests/<slug:key>": {"POST": Entry(Can.TEST, "testing_job", "cracking", TEST)},
    "jobs/<uuid:uid>/assign": {"POST": Entry(Can.ASSIGN, "new_job", body=ASSIGN)},
    "drop-offs": {
        "GET": SEE,
        "POST": Entry(
            Can.CHECK_IN, body={"customer": "@customer", "promised_on": "2199-01-01", "lines": [LINE]}
        ),
    },
    "drop-offs/<uuid:uid>": {"GET": Entry(Can.SEE, "signed")},
    "drop-offs/<uuid:uid>/go-aheads": {"POST": Entry(Can.TAKE_GO_AHEAD, "drop_off", body=GO_AHEAD)},
    "jobs/<uuid:uid>/sign-offs": {
        "GET": Entry(Can.SEE, "testing_job"),
        "POST": Entry(Can.SIGN, "testing_job", body=SIGN),
    },
    "drop-offs/<uuid:uid>/hand-backs": {
        "POST": Entry(Can.HAND_BACK, "signed", body=COLLECT | {"items": ["@@label"]})
    },
    "letters": {"GET": Entry(Can.SEE_LETTERS)},
    "queue": {"GET": SEE},
    "board": {"GET": Entry(Can.ASSIGN)},
    "schema": {"GET": Entry(public=True)},
}

_CHECK_IN_PAGE = {"promised_on": "2199-01-01"} | {f"lines[0]{name}": value for name, value in LINE.items()}
PAGES: dict[str, dict[str, Entry]] = {
    "": {"GET": Entry()},
    "sign-in": {"GET": Entry(public=True), "POST": Entry(public=True, body=SIGN_IN)},
    "sign-out": {"POST": Entry(public=True)},
    "sign-in/code": {"GET": Entry(public=True), "POST": Entry(public=True, body={"code": "123456"})},
    "forgotten-password": {
        "GET": Entry(public=True),
        "POST": Entry(public=True, body={"email": "lead@aldermouth.example"}),
    },
    "forgotten-password/written": {"GET": Entry(public=True)},
    "choose-password": {
        "GET": Entry(public=True, body={"key": "@@key"}),
        "POST": Entry(public=True, body=CHOSEN | {"key": "@@key"}),
    },
    "you": {"GET": Entry()},
    "you/confirm": {"GET": Entry(), "POST": Entry(body={"password": PASSWORD})},
    "you/confirm/code": {"GET": Entry(), "POST": Entry(body={"code": "123456"})},
    "you/password": {"GET": SEE, "POST": Entry(Can.KEEP_OWN_TOKENS, body=NEW_PASSWORD)},
    "you/signing-secret": {"GET": SEE, "POST": Entry(Can.KEEP_OWN_TOKENS, body=NEW_SECRET)},
    "you/second-factor": {"GET": Entry(), "POST": Entry(body={"code": "123456"})},
    "you/second-factor/off": {"GET": Entry(), "POST": Entry()},
    "you/recovery-codes": {"GET": Entry()},
    "you/recovery-codes/new": {"GET": Entry(), "POST": Entry()},
    "you/sessions/end": {"GET": SEE, "POST": Entry(Can.KEEP_OWN_TOKENS)},
    "office/people/invite": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=INVITED)},
    "office/people/<uuid:uid>/invite": {
        "GET": Entry(Can.SEE, "invited"),
        "POST": Entry(Can.KEEP_PEOPLE, "invited"),
    },
    "office/people": {"GET": SEE},
    "office/people/new": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=PERSON)},
    "office/people/<uuid:uid>/authorise": {
        "GET": Entry(Can.SEE, "technician"),
        "POST": Entry(Can.KEEP_PEOPLE, "technician", body=AUTHORISATION),
    },
    "office/people/<uuid:uid>": {"GET": Entry(Can.SEE, "technician")},
    "office/people/<uuid:uid>/roles": {
        "GET": Entry(Can.SEE, "technician"),
        "POST": Entry(Can.KEEP_PEOPLE, "technician", body=ROLES),
    },
    "office/people/<uuid:uid>/deactivate": {
        "GET": Entry(Can.SEE, "technician"),
        "POST": Entry(Can.KEEP_PEOPLE, "technician"),
    },
    "office/people/<uuid:uid>/reactivate": {
        "GET": Entry(Can.SEE, "left"),
        "POST": Entry(Can.KEEP_PEOPLE, "left"),
    },
    "office/authorisations/<uuid:uid>/end": {
        "GET": Entry(Can.SEE, "authorisation"),
        "POST": Entry(Can.KEEP_PEOPLE, "authorisation", body={"last_day": "2026-01-01"}),
    },
    "tokens": {"GET": Entry(Can.KEEP_OWN_TOKENS), "POST": Entry(Can.KEEP_OWN_TOKENS, body=TOKEN)},
    "tokens/<uuid:uid>/end": {"GET": Entry(Can.SEE, "token"), "POST": Entry(Can.KEEP_OWN_TOKENS, "token")},
    "find": {"GET": SEE},
    "customers/new": {"GET": SEE, "POST": Entry(Can.KEEP_CUSTOMERS, body=CUSTOMER)},
    "customers/<uuid:uid>": {"GET": Entry(Can.SEE, "customer")},
    "customers/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(Can.KEEP_CUSTOMERS, "customer", body=CUSTOMER),
    },
    "office/models": {"GET": SEE},
    "office/models/new": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=MODEL)},
    "office/models/<uuid:uid>/issue": {
        "GET": Entry(Can.SEE, "model"),
        "POST": Entry(Can.KEEP_PLANS, "model", body={"key": "overhaul", "document": "@@plan text"}),
    },
    "office/models/<uuid:uid>/draft": {
        "GET": Entry(Can.SEE, "model"),
        "POST": Entry(Can.KEEP_PLANS, "model", body={"key": "overhaul", "document": "@@plan text"}),
    },
    "office/plans/<uuid:uid>": {"GET": Entry(Can.SEE, "plan")},
    "office/plans/<uuid:uid>/copy": {
        "GET": Entry(Can.SEE, "plan"),
        "POST": Entry(Can.KEEP_PLANS, "plan"),
    },
    "office/plans/<uuid:uid>/compare": {"GET": Entry(Can.SEE, "plan")},
    "office/plans/<uuid:uid>/withdraw": {
        "GET": Entry(Can.SEE, "plan"),
        "POST": Entry(Can.KEEP_PLANS, "plan", body=WITHDRAWAL),
    },
    "office/drafts/<uuid:uid>": {
        "GET": Entry(Can.SEE, "draft"),
        "POST": Entry(Can.KEEP_PLANS, "draft", body={"document": "@@plan text"}),
    },
    "office/drafts/<uuid:uid>/issue": {
        "GET": Entry(Can.SEE, "draft"),
        "POST": Entry(Can.KEEP_PLANS, "draft"),
    },
    "office/drafts/<uuid:uid>/set-aside": {
        "GET": Entry(Can.SEE, "draft"),
        "POST": Entry(Can.KEEP_PLANS, "draft"),
    },
    "customers/<uuid:uid>/items/new": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(Can.KEEP_GEAR, "customer", body=ITEM),
    },
    "items/<uuid:uid>": {"GET": Entry(Can.SEE, "item")},
    **PAPERS,
    "office/instruments": {"GET": SEE},
    "office/instruments/new": {"GET": SEE, "POST": Entry(Can.KEEP_INSTRUMENTS, body=INSTRUMENT)},
    "office/instruments/<uuid:uid>/calibrate": {
        "GET": Entry(Can.SEE, "wrench"),
        "POST": Entry(Can.KEEP_INSTRUMENTS, "wrench", body=CALIBRATION),
    },
    "store": {"GET": SEE},
    "store/parts/new": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=PART)},
    "store/parts/<uuid:uid>/receive": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=RECEIVE),
    },
    "store/lots/<uuid:uid>/use": {
        "GET": Entry(Can.SEE, "lot"),
        "POST": Entry(Can.KEEP_STOCK, "lot", body=USE),
    },
    "bench": {"GET": SEE},
    "jobs/<uuid:uid>": {"GET": Entry(Can.SEE, "open_job")},
    "jobs/<uuid:uid>/move": {
        "GET": Entry(Can.SEE, "new_job"),
        "POST": Entry(Can.MOVE, "new_job", body=MOVE),
    },
    "jobs/<uuid:uid>/empty": {"GET": Entry(Can.SEE, "new_job"), "POST": Entry(Can.WORK, "new_job")},
    "jobs/<uuid:uid>/steps/<slug:key>": {
        "GET": Entry(Can.SEE, "open_job", "ports"),
        "POST": Entry(Can.WORK, "open_job", "ports", {"counted": 5}),
    },
    "jobs/<uuid:uid>/parts/<slug:key>": {
        "GET": Entry(Can.SEE, "open_job", "port_plugs"),
        "POST": Entry(Can.WORK, "open_job", "port_plugs", ENDING),
    },
    "jobs/<uuid:uid>/tests/<slug:key>": {
        "GET": Entry(Can.SEE, "testing_job", "cracking"),
        "POST": Entry(Can.TEST, "testing_job", "cracking", TEST),
    },
    "attempts/<uuid:uid>": {"GET": Entry(Can.SEE, "attempt")},
    "jobs/<uuid:uid>/assign": {
        "GET": Entry(Can.SEE, "new_job"),
        "POST": Entry(Can.ASSIGN, "new_job", body=ASSIGN),
    },
    "drop-offs/<uuid:uid>/go-ahead": {
        "GET": Entry(Can.SEE, "drop_off"),
        "POST": Entry(Can.TAKE_GO_AHEAD, "drop_off", body=GO_AHEAD),
    },
    "counter": {"GET": SEE},
    "office": {"GET": SEE},
    "office/board": {"GET": Entry(Can.ASSIGN)},
    "customers/<uuid:uid>/check-in": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(Can.CHECK_IN, "customer", body=_CHECK_IN_PAGE),
    },
    "drop-offs/<uuid:uid>": {"GET": Entry(Can.SEE, "signed")},
    "jobs/<uuid:uid>/sign-off": {
        "GET": Entry(Can.SEE, "testing_job"),
        "POST": Entry(Can.SIGN, "testing_job", body=SIGN),
    },
    "records/<uuid:uid>": {"GET": Entry(Can.SEE, "record")},
    "drop-offs/<uuid:uid>/hand-back": {
        "GET": Entry(Can.SEE, "signed"),
        "POST": Entry(Can.HAND_BACK, "signed", body=COLLECT | {"items": "@@label"}),
    },
    "office/letters": {"GET": Entry(Can.SEE_LETTERS)},
    "office/letters/<uuid:uid>": {"GET": Entry(Can.SEE_LETTERS, "letter")},
    "favicon.ico": {"GET": Entry(public=True)},
}
ENTRIES = PAGES | {f"api/v1/{route}": methods for route, methods in API.items()}


# What each role may: the table of rights, a token narrowed to one scope, and somebody signed in without any role.
HELD = {**{str(role): rights for role, rights in RIGHTS.items()}, "token": {Can.SEE}, "nobody": set[Can]()}


def may(role: str, entry: Entry) -> bool:
    """Whether the table of rights lets a role through."""
    if entry.public:
        return True
    if role == "stranger":
        return False
    held = HELD[role]
    return entry.right is None or entry.right in held


def somebody(entry: Entry) -> str:
    """A role that an entry lets through."""
    return next(str(role) for role in [Role.TECHNICIAN, *Role] if may(role, entry))
