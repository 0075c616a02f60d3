"""What each method of each address about a customer's rights needs."""

from shop.staff.rules import Can
from tests.conftest import SECRET
from tests.guards.bodies import Entry

ANSWER = Can.ANSWER_FOR_RIGHTS
ASKED = {"reason": "By post, with a copy of a passport."}
TWO = {"second": "@inspector", "second_secret": SECRET}
CLOSED = {"why": "They took it back."}

RIGHTS_API: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/rights": {"GET": Entry(ANSWER, "customer")},
    "customers/<uuid:uid>/data": {"POST": Entry(ANSWER, "customer")},
    "customers/<uuid:uid>/erasures": {"POST": Entry(ANSWER, "customer", body=ASKED)},
    "erasures/<uuid:uid>/erase": {"POST": Entry(ANSWER, "erasure", body=TWO)},
    "erasures/<uuid:uid>/close": {"POST": Entry(ANSWER, "erasure", body=CLOSED)},
}
RIGHTS_PAGES: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/rights": {"GET": Entry(ANSWER, "customer")},
    "customers/<uuid:uid>/data": {"GET": Entry(ANSWER, "customer"), "POST": Entry(ANSWER, "customer")},
    "customers/<uuid:uid>/erasures/new": {
        "GET": Entry(ANSWER, "customer"),
        "POST": Entry(ANSWER, "customer", body=ASKED),
    },
    "erasures/<uuid:uid>/erase": {
        "GET": Entry(ANSWER, "erasure"),
        "POST": Entry(ANSWER, "erasure", body=TWO),
    },
    "erasures/<uuid:uid>/close": {
        "GET": Entry(ANSWER, "erasure"),
        "POST": Entry(ANSWER, "erasure", body=CLOSED),
    },
}
