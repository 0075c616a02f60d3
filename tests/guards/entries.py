"""What each method of each address needs: a right, the row that stands in the address, a body that is valid.

The permission matrix, the inventories, the header crawl and the query counts all read this one table. In a body, a text
that begins with @ stands for the uid of that row of the `World`.
"""

from shop.staff.rules import RIGHTS, Can, Role
from tests.guards.answer_entries import ANSWER_PAGES, ANSWERS_API
from tests.guards.bodies import (
    ADVICE,
    ALTERNATIVE,
    ANSWER,
    ASK,
    ASSIGN,
    AUTHORISATION,
    BAG,
    BATCH,
    BIN,
    CALIBRATION,
    CHECK,
    CHUNK,
    CLOSE,
    COLLECT,
    CONTENT,
    CUSTODY,
    CUSTOMER,
    CYLINDERS,
    DISPOSE,
    DOCUMENT,
    DOUBT,
    ENDED,
    ENDING,
    EXTENSION,
    FITNESS,
    GO_AHEAD,
    HAND_ON,
    HOLD,
    INSIDE,
    INSTRUMENT,
    INVITED,
    ITEM,
    ITEMISED,
    LEVELS,
    LIFT,
    LINE,
    LOG,
    MANY,
    MARK,
    MERGE_CUSTOMER,
    MERGE_ITEM,
    MODEL,
    MOVE,
    NEW_PASSWORD,
    NEW_SECRET,
    NUMBER,
    OWNER,
    PAPERS,
    PART,
    PERSON,
    PHOTOGRAPH,
    PLAN,
    PROMISE_DAY,
    PUT_IN,
    REACH,
    RECEIVE,
    ROLES,
    SCAN,
    SEE,
    SET,
    SIGN,
    SITE_LEVEL,
    SPLIT,
    SPOTS,
    TAKE_OUT,
    TEST,
    THRESHOLD,
    THROW_AWAY,
    TOKEN,
    USE,
    USED_WITH,
    WHY,
    WITHDRAWAL,
    Entry,
)
from tests.guards.clock_entries import CLOCKS, CLOCKS_API
from tests.guards.condition_entries import CONDITION_API, CONDITION_PAGES
from tests.guards.evidence_entries import EVIDENCE_API, EVIDENCE_PAGES
from tests.guards.lending_entries import LENDING, LENDING_API
from tests.guards.letter_entries import LETTERS_API, LETTERS_PAGES
from tests.guards.money_entries import MONEY_API, MONEY_PAGES
from tests.guards.outbox_entries import OUTBOX, OUTBOX_API
from tests.guards.page_entries import PAGES
from tests.guards.porthole_entries import PORTHOLE_API, PORTHOLE_PAGES
from tests.guards.quote_entries import QUOTE_PAGES, QUOTES_API
from tests.guards.rights_entries import RIGHTS_API, RIGHTS_PAGES
from tests.guards.safety_entries import SAFETY_API, SAFETY_PAGES
from tests.guards.store_entries import ORDERS_API
from tests.guards.terms_entries import TERMS_API, TERMS_PAGES

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
    "counter-day": {"GET": SEE},
    "customers": {"GET": SEE, "POST": Entry(Can.KEEP_CUSTOMERS, body=CUSTOMER)},
    "customers/<uuid:uid>": {
        "GET": Entry(Can.SEE, "customer"),
        "PUT": Entry(Can.KEEP_CUSTOMERS, "customer", body=CUSTOMER),
    },
    "customers/<uuid:uid>/history": {"GET": Entry(Can.SEE, "customer")},
    "customers/<uuid:uid>/merge": {
        "POST": Entry(Can.KEEP_CUSTOMERS, "other_customer", body=MERGE_CUSTOMER),
    },
    "models": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=MODEL)},
    "models/<uuid:uid>/plans": {"POST": Entry(Can.KEEP_PLANS, "model", body=PLAN)},
    "models/<uuid:uid>/drafts": {"POST": Entry(Can.KEEP_PLANS, "model", body=PLAN)},
    "plans": {"GET": SEE},
    "plans/<uuid:uid>": {"GET": Entry(Can.SEE, "plan")},
    "plans/<uuid:uid>/drafts": {"POST": Entry(Can.KEEP_PLANS, "plan")},
    "plans/<uuid:uid>/withdrawals": {"POST": Entry(Can.KEEP_PLANS, "plan", body=WITHDRAWAL)},
    "plans/<uuid:uid>/differences": {"GET": Entry(Can.SEE, "plan")},
    "advice": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=ADVICE)},
    "advice/shipped": {"POST": Entry(Can.KEEP_PLANS)},
    "advice/<uuid:uid>": {
        "GET": Entry(Can.SEE, "advice"),
        "PUT": Entry(Can.KEEP_PLANS, "advice", body=ADVICE),
    },
    "advice/<uuid:uid>/withdrawal": {"POST": Entry(Can.KEEP_PLANS, "advice")},
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
    **ORDERS_API,
    **SAFETY_API,
    **RIGHTS_API,
    **MONEY_API,
    **CLOCKS_API,
    **LENDING_API,
    **TERMS_API,
    **CONDITION_API,
    **OUTBOX_API,
    **EVIDENCE_API,
    **LETTERS_API,
    **ANSWERS_API,
    **PORTHOLE_API,
    **QUOTES_API,
    "items/<uuid:uid>/identifiers": {"POST": Entry(Can.KEEP_GEAR, "item", body=MARK)},
    "items/<uuid:uid>/gas": {"POST": Entry(Can.KEEP_GEAR, "item", body=USED_WITH)},
    "items/<uuid:uid>/owner": {"POST": Entry(Can.KEEP_GEAR, "item", body=OWNER)},
    "items/<uuid:uid>/merge": {"POST": Entry(Can.KEEP_GEAR, "other_item", body=MERGE_ITEM)},
    "items/<uuid:uid>/split": {"POST": Entry(Can.KEEP_GEAR, "item", body=SPLIT)},
    "items/<uuid:uid>/history": {"GET": Entry(Can.SEE, "item")},
    "identifiers/<uuid:uid>/state": {
        "POST": Entry(Can.KEEP_GEAR, "identifier", body={"state": "disputed"}),
    },
    "items/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "item"),
        "POST": Entry(Can.KEEP_GEAR, "item", body=PHOTOGRAPH),
    },
    "photographs/<uuid:uid>": {"GET": Entry(Can.SEE, "photograph")},
    "photographs/<uuid:uid>/spots": SPOTS,
    "instruments": {"GET": SEE, "POST": Entry(Can.KEEP_INSTRUMENTS, body=INSTRUMENT)},
    "archives": {"POST": Entry(Can.BRING_IN)},
    "batches": {"GET": Entry(Can.BRING_IN), "POST": Entry(Can.BRING_IN, body=BATCH)},
    "batches/<uuid:uid>": {"GET": Entry(Can.BRING_IN, "batch")},
    "batches/<uuid:uid>/findings": {"GET": Entry(Can.BRING_IN, "batch")},
    "batches/<uuid:uid>/columns": {"POST": Entry(Can.BRING_IN, "batch", body={"mapping": {"name": "Name"}})},
    "batches/<uuid:uid>/begin": {"POST": Entry(Can.BRING_IN, "batch")},
    "batches/<uuid:uid>/undo": {"POST": Entry(Can.BRING_IN, "batch")},
    "instruments/<uuid:uid>/calibrations": {"POST": Entry(Can.KEEP_INSTRUMENTS, "wrench", body=CALIBRATION)},
    "instruments/<uuid:uid>/checks": {"POST": Entry(Can.KEEP_INSTRUMENTS, "wrench", body=CHECK)},
    "workshop": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=REACH)},
    "oxygen-threshold": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=THRESHOLD)},
    "cylinder-tests": {"GET": SEE, "POST": Entry(Can.KEEP_PLANS, body=CYLINDERS)},
    "calibrations/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "calibration"),
        "POST": Entry(Can.KEEP_INSTRUMENTS, "calibration", body=PHOTOGRAPH),
    },
    "calibrations/<uuid:uid>/documents": {
        "GET": Entry(Can.SEE, "calibration"),
        "POST": Entry(Can.KEEP_INSTRUMENTS, "calibration", body=DOCUMENT),
    },
    "documents/<uuid:uid>": {"GET": Entry(Can.SEE, "document")},
    "parts": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=PART)},
    "parts/to-order": {"GET": SEE},
    "parts/<uuid:uid>": {
        "GET": Entry(Can.SEE, "part"),
        "PUT": Entry(Can.KEEP_STOCK, "part", body=LEVELS),
    },
    "bins": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=BIN)},
    "parts/<uuid:uid>/alternatives": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_PLANS, "part", body=ALTERNATIVE),
    },
    "parts/to-bring": {"GET": SEE},
    "parts/<uuid:uid>/sites": {
        "GET": Entry(Can.SEE, "part"),
        "PUT": Entry(Can.KEEP_STOCK, "part", body=SITE_LEVEL),
    },
    "alternatives/<uuid:uid>/end": {"POST": Entry(Can.KEEP_PLANS, "alternative", body=ENDED)},
    "parts/<uuid:uid>/level": {"GET": Entry(Can.SEE, "part")},
    "parts/<uuid:uid>/fitness": {"PUT": Entry(Can.KEEP_STOCK, "part", body=FITNESS)},
    "counts": {"GET": SEE},
    "bins/<uuid:uid>/counts": {"POST": Entry(Can.OPEN_KIT, "bin", body={})},
    "counts/<uuid:uid>": {"GET": Entry(Can.SEE, "count")},
    "counts/<uuid:uid>/numbers": {"POST": Entry(Can.OPEN_KIT, "count", body=NUMBER)},
    "counts/<uuid:uid>/book": {"POST": Entry(Can.KEEP_STOCK, "count", body=WHY)},
    "counts/<uuid:uid>/set-aside": {"POST": Entry(Can.KEEP_STOCK, "count", body=WHY)},
    "parts/<uuid:uid>/lots": {"POST": Entry(Can.KEEP_STOCK, "part", body=RECEIVE)},
    "lots/<uuid:uid>/movements": {
        "GET": Entry(Can.SEE, "lot"),
        "POST": Entry(Can.KEEP_STOCK, "lot", body=USE),
    },
    "lots/<uuid:uid>/extension": {"POST": Entry(Can.KEEP_STOCK, "iso_lot", body=EXTENSION)},
    "lots/<uuid:uid>/trace": {"GET": Entry(Can.SEE, "lot")},
    "items/<uuid:uid>/lots": {"GET": Entry(Can.SEE, "item")},
    "metrics": {"GET": SEE},
    "jobs": {"GET": SEE},
    "jobs/<uuid:uid>": {"GET": Entry(Can.SEE, "new_job")},
    "jobs/<uuid:uid>/sheet": {"GET": Entry(Can.SEE, "open_job")},
    "jobs/<uuid:uid>/moves": {"POST": Entry(Can.MOVE, "new_job", body=MOVE)},
    "jobs/<uuid:uid>/empty": {"POST": Entry(Can.WORK, "new_job")},
    "jobs/<uuid:uid>/steps/<slug:key>": {"POST": Entry(Can.WORK, "open_job", "ports", {"counted": 5})},
    "jobs/<uuid:uid>/parts/<slug:key>": {"POST": Entry(Can.WORK, "open_job", "port_plugs", ENDING)},
    "jobs/<uuid:uid>/scans": {"POST": Entry(Can.WORK, "open_job", body=SCAN)},
    "jobs/<uuid:uid>/tests/<slug:key>": {"POST": Entry(Can.TEST, "testing_job", "cracking", TEST)},
    "jobs/<uuid:uid>/tests/<slug:key>/loggings": {"POST": LOG},
    "loggings/<uuid:uid>": {"GET": Entry(Can.SEE, "logging")},
    "loggings/<uuid:uid>/chunks/<int:n>": {"PUT": Entry(Can.TEST, "logging", "2", CHUNK)},
    "loggings/<uuid:uid>/end": {"POST": Entry(Can.TEST, "logging")},
    "loggings/<uuid:uid>/throw-away": {"POST": THROW_AWAY},
    "attempts/<uuid:uid>/trace": {"GET": Entry(Can.SEE, "logged")},
    "jobs/<uuid:uid>/history": {"GET": Entry(Can.SEE, "open_job")},
    "jobs/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "open_job"),
        "POST": Entry(Can.WORK, "open_job", body=PHOTOGRAPH | {"step": "ports"}),
    },
    "drop-offs/<uuid:uid>/assign": {"POST": Entry(Can.ASSIGN, "drop_off", body=ASSIGN)},
    "jobs/<uuid:uid>/assign": {"POST": Entry(Can.ASSIGN, "new_job", body=ASSIGN)},
    "drop-offs": {
        "GET": SEE,
        "POST": Entry(
            Can.CHECK_IN, body={"customer": "@customer", "promised_on": "2199-01-01", "lines": [LINE]}
        ),
    },
    "drop-offs/<uuid:uid>": {"GET": Entry(Can.SEE, "signed")},
    "lines/<uuid:uid>/photographs": {
        "GET": Entry(Can.SEE, "line"),
        "POST": Entry(Can.CHECK_IN, "line", body=PHOTOGRAPH),
    },
    "drop-offs/<uuid:uid>/go-aheads": {"POST": Entry(Can.TAKE_GO_AHEAD, "drop_off", body=GO_AHEAD)},
    "jobs/<uuid:uid>/sign-offs": {
        "GET": Entry(Can.SEE, "testing_job"),
        "POST": Entry(Can.SIGN, "testing_job", body=SIGN),
    },
    "records/<uuid:uid>/signed": {"GET": Entry(Can.SEE, "record")},
    "signing-keys": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=WHY)},
    "drop-offs/<uuid:uid>/hand-backs": {
        "POST": Entry(Can.HAND_BACK, "signed", body=COLLECT | {"items": ["@@label"]})
    },
    "doubts": {"GET": SEE, "POST": Entry(Can.DOUBT, body=DOUBT)},
    "doubts/<uuid:uid>": {"GET": Entry(Can.SEE, "doubt")},
    "doubts/<uuid:uid>/answer": {"POST": Entry(Can.ANSWER_DOUBT, "loose_doubt", body=CLOSE)},
    "affected/<uuid:uid>/answer": {"POST": Entry(Can.ANSWER_DOUBT, "affected", body=ANSWER)},
    "jobs/<uuid:uid>/holds": {
        "GET": Entry(Can.SEE, "new_job"),
        "POST": Entry(Can.HOLD, "new_job", body=HOLD),
    },
    "holds/<uuid:uid>/lift": {"POST": Entry(Can.HOLD, "hold", body=LIFT)},
    "lines/<uuid:uid>/custody": {
        "GET": Entry(Can.SEE, "line"),
        "POST": Entry(Can.KEEP_CUSTODY, "line", body=CUSTODY),
    },
    "jobs/<uuid:uid>/contents": {"POST": Entry(Can.MOVE, "closed_job", body=INSIDE)},
    "jobs/<uuid:uid>/plans": {"POST": Entry(Can.CHECK_IN, "new_job", body={"plan": "@other_plan"})},
    "jobs/move-on": {"POST": Entry(Can.MOVE, body={"jobs": ["@new_job"]})},
    "jobs/<uuid:uid>/promise": {"POST": Entry(Can.PROMISE, "new_job", body=PROMISE_DAY)},
    "people/<uuid:uid>/hand-on": {"POST": Entry(Can.ASSIGN, "technician", body=HAND_ON)},
    "drop-offs/<uuid:uid>/lines": {"POST": Entry(Can.CHECK_IN, "drop_off", body={"lines": [BAG]})},
    "drop-offs/<uuid:uid>/many": {
        "POST": Entry(Can.CHECK_IN, "drop_off", body=MANY | {"marks": [{"owners_mark": "AFS 1"}]})
    },
    "lines/<uuid:uid>/item": {"POST": Entry(Can.CHECK_IN, "bag", body=ITEMISED)},
    "drop-offs/<uuid:uid>/asked": {"POST": Entry(Can.HAND_BACK, "signed", body=ASK)},
    "jobs/<uuid:uid>/dispose": {"POST": Entry(Can.DISPOSE, "signed_job", body=DISPOSE)},
    "parts/<uuid:uid>/contents": {"POST": Entry(Can.KEEP_STOCK, "empty_kit", body=CONTENT)},
    "lots/<uuid:uid>/open": {"POST": Entry(Can.OPEN_KIT, "kit_lot", body={"quantity": 1})},
    "customers/<uuid:uid>/sets": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(Can.KEEP_GEAR, "customer", body=SET),
    },
    "sets/<uuid:uid>": {"GET": Entry(Can.SEE, "set")},
    "sets/<uuid:uid>/put-in": {"POST": Entry(Can.KEEP_GEAR, "set", body=PUT_IN)},
    "sets/<uuid:uid>/take-out": {"POST": Entry(Can.KEEP_GEAR, "set", body=TAKE_OUT)},
    "queue": {"GET": SEE},
    "board": {"GET": Entry(Can.ASSIGN)},
    "schema": {"GET": Entry(public=True)},
}
ENTRIES = PAGES | SAFETY_PAGES | CLOCKS | LENDING | RIGHTS_PAGES | EVIDENCE_PAGES | OUTBOX | LETTERS_PAGES
ENTRIES |= ANSWER_PAGES | MONEY_PAGES | PORTHOLE_PAGES | QUOTE_PAGES | TERMS_PAGES | CONDITION_PAGES
ENTRIES |= {f"api/v1/{route}": methods for route, methods in API.items()}


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
