"""What each method of each page of the store needs."""

from shop.staff.rules import Can
from tests.guards.bodies import (
    ALTERNATIVE,
    BIN,
    CAME,
    CONTENT,
    ENDED,
    EXTENSION,
    FITNESS,
    LEVEL,
    LEVELS,
    NUMBER,
    OFFER,
    PACKS,
    PART,
    RECEIVE,
    SCAN,
    SEE,
    SENDING,
    SITE_LEVEL,
    SUPPLIER,
    TERMS,
    USE,
    WHY,
    WISHES,
    Entry,
)

KEEP = Can.KEEP_STOCK
ORDERS_API: dict[str, dict[str, Entry]] = {
    "suppliers": {"GET": SEE, "POST": Entry(KEEP, body=SUPPLIER)},
    "suppliers/<uuid:uid>": {
        "GET": Entry(Can.SEE, "supplier"),
        "PUT": Entry(KEEP, "supplier", body=SUPPLIER),
    },
    "suppliers/<uuid:uid>/draft": {"POST": Entry(KEEP, "supplier", body=WISHES)},
    "parts/<uuid:uid>/offers": {"GET": Entry(Can.SEE, "part"), "POST": Entry(KEEP, "part", body=OFFER)},
    "offers/<uuid:uid>": {"GET": Entry(Can.SEE, "offer"), "PUT": Entry(KEEP, "offer", body=TERMS)},
    "orders": {"GET": SEE},
    "orders/<uuid:uid>": {"GET": Entry(Can.SEE, "order")},
    "orders/<uuid:uid>/send": {"POST": Entry(KEEP, "draft_order", body=SENDING)},
    "orders/<uuid:uid>/close": {"POST": Entry(KEEP, "order", body=WHY)},
    "draft-lines/<uuid:uid>/take-off": {"POST": Entry(KEEP, "draft_line")},
    "order-lines/<uuid:uid>/receipts": {"POST": Entry(KEEP, "order_line", body=CAME)},
    "receipts/<uuid:uid>/take-back": {"POST": Entry(KEEP, "receipt", body=WHY)},
    "orders/<uuid:uid>/order.csv": {"GET": Entry(Can.SEE, "order")},
    "stock-value": {"GET": SEE},
    "need-ahead": {"GET": SEE},
    "parts/<uuid:uid>/need-ahead": {"GET": Entry(Can.SEE, "part")},
    "suppliers/<uuid:uid>/proposed": {"POST": Entry(KEEP, "needed_supplier", body=LEVEL)},
}
ORDERS: dict[str, dict[str, Entry]] = {
    "store/suppliers": {"GET": SEE},
    "store/suppliers/new": {"GET": SEE, "POST": Entry(KEEP, body=SUPPLIER)},
    "store/suppliers/<uuid:uid>": {"GET": Entry(Can.SEE, "supplier")},
    "store/suppliers/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "supplier"),
        "POST": Entry(KEEP, "supplier", body=SUPPLIER),
    },
    "store/parts/<uuid:uid>/offers": {"GET": Entry(Can.SEE, "part")},
    "store/parts/<uuid:uid>/offers/new": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(KEEP, "part", body=OFFER),
    },
    "store/offers/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "offer"),
        "POST": Entry(KEEP, "offer", body=TERMS),
    },
    "store/offers/<uuid:uid>/order": {
        "GET": Entry(Can.SEE, "offer"),
        "POST": Entry(KEEP, "offer", body=PACKS),
    },
    "store/orders": {"GET": SEE},
    "store/orders/<uuid:uid>": {"GET": Entry(Can.SEE, "order")},
    "store/orders/<uuid:uid>/send": {
        "GET": Entry(Can.SEE, "draft_order"),
        "POST": Entry(KEEP, "draft_order", body=SENDING),
    },
    "store/orders/<uuid:uid>/close": {
        "GET": Entry(Can.SEE, "order"),
        "POST": Entry(KEEP, "order", body=WHY),
    },
    "store/draft-lines/<uuid:uid>/take-off": {
        "GET": Entry(Can.SEE, "draft_line"),
        "POST": Entry(KEEP, "draft_line"),
    },
    "store/order-lines/<uuid:uid>/receive": {
        "GET": Entry(Can.SEE, "order_line"),
        "POST": Entry(KEEP, "order_line", body=CAME),
    },
    "store/receipts/<uuid:uid>/take-back": {
        "GET": Entry(Can.SEE, "receipt"),
        "POST": Entry(KEEP, "receipt", body=WHY),
    },
    "orders/<uuid:uid>/order.csv": {"GET": Entry(Can.SEE, "order")},
    "store/value": {"GET": SEE},
    "store/value.csv": {"GET": SEE},
    "store/need-ahead": {"GET": SEE},
    "store/parts/<uuid:uid>/need-ahead": {"GET": Entry(Can.SEE, "part")},
    "store/suppliers/<uuid:uid>/proposed": {
        "GET": Entry(Can.SEE, "needed_supplier"),
        "POST": Entry(KEEP, "needed_supplier", body=LEVEL),
    },
}

STORE: dict[str, dict[str, Entry]] = ORDERS | {
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
    "store/to-bring": {"GET": SEE},
    "store/parts/<uuid:uid>/site": {
        "GET": Entry(Can.SEE, "part"),
        "POST": Entry(Can.KEEP_STOCK, "part", body=SITE_LEVEL),
    },
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
        "GET": Entry(Can.SEE, "empty_kit"),
        "POST": Entry(Can.KEEP_STOCK, "empty_kit", body=CONTENT),
    },
    "jobs/<uuid:uid>/scan": {
        "GET": Entry(Can.SEE, "open_job"),
        "POST": Entry(Can.WORK, "open_job", body=SCAN),
    },
    "store/lots/<uuid:uid>/open": {
        "GET": Entry(Can.SEE, "kit_lot"),
        "POST": Entry(Can.OPEN_KIT, "kit_lot", body={"quantity": 1}),
    },
}
