"""What each method of each page about signed records needs."""

from shop.staff.rules import Can
from tests.guards.bodies import SEE, WHY, Entry

SIGNING: dict[str, dict[str, Entry]] = {
    "check": {"GET": Entry(public=True), "POST": Entry(public=True, body={"file": "@@signed"})},
    "check/keys.json": {"GET": Entry(public=True)},
    "records/<uuid:uid>/signed.json": {"GET": Entry(Can.SEE, "record")},
    "office/signing-keys": {"GET": SEE},
    "office/signing-keys/change": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=WHY)},
}
