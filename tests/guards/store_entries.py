"""What each method of each page of the store needs."""

from shop.staff.rules import Can
from tests.guards.bodies import (
    ALTERNATIVE,
    BIN,
    CONTENT,
    ENDED,
    EXTENSION,
    FITNESS,
    LEVELS,
    NUMBER,
    PART,
    RECEIVE,
    SEE,
    USE,
    WHY,
    Entry,
)

STORE: dict[str, dict[str, Entry]] = {
    "store": {"GET": SEE},
    "store/bins": {"GET": SEE},
    "store/bins/new": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=BIN)},
    "store/counts": {"GET": SEE},
    "store/bins/<uuid:uid>/count": {
        "GET": Entry(Can.SEE, "bin"),
        "POST": Entry(Can.OPEN_KIT, "bin", body={}),
    },
    "store/counts/<uuid:uid>": {"GET": Entry(Can.SEE, "count")},
    "store/counts/<uuid:uid>/lot": {
        "GET": Entry(Can.SEE, "count"),
        "POST": Entry(Can.OPEN_KIT, "count", body=NUMBER),
    },
    "store/counts/<uuid:uid>/book": {
        "GET": Entry(Can.SEE, "count"),
        "POST": Entry(Can.KEEP_STOCK, "count", body=WHY),
    },
    "store/counts/<uuid:uid>/set-aside": {
        "GET": Entry(Can.SEE, "count"),
        "POST": Entry(Can.KEEP_STOCK, "count", body=WHY),
    },
    "store/to-order": {"GET": SEE},
    "store/parts/<uuid:uid>/alternatives/new": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_PLANS, "part", body=ALTERNATIVE),
    },
    "store/alternatives/<uuid:uid>/end": {
        "GET": Entry(Can.SEE, "alternative"),
        "POST": Entry(Can.KEEP_PLANS, "alternative", body=ENDED),
    },
    "store/parts/<uuid:uid>": {"GET": Entry(Can.SEE, "part")},
    "store/parts/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=LEVELS),
    },
    "store/parts/new": {"GET": SEE, "POST": Entry(Can.KEEP_STOCK, body=PART)},
    "store/parts/<uuid:uid>/fitness": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=FITNESS),
    },
    "store/parts/<uuid:uid>/receive": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=RECEIVE),
    },
    "store/lots/<uuid:uid>": {"GET": Entry(Can.SEE, "lot")},
    "store/lots/<uuid:uid>/extend": {
        "GET": Entry(Can.SEE, "iso_lot"),
        "POST": Entry(Can.KEEP_STOCK, "iso_lot", body=EXTENSION),
    },
    "store/lots/<uuid:uid>/move": {
        "GET": Entry(Can.SEE, "lot"),
        "POST": Entry(Can.KEEP_STOCK, "lot", body=USE),
    },
    "store/parts/<uuid:uid>/contents": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=CONTENT),
    },
    "store/lots/<uuid:uid>/open": {
        "GET": Entry(Can.SEE, "kit_lot"),
        "POST": Entry(Can.OPEN_KIT, "kit_lot", body={"quantity": 1}),
    },
}
