"""What each method of each address of what letters say, and when, needs."""

from typing import Any

from shop.staff.models import Person
from shop.staff.rules import Can
from shop.wording.actions import word
from shop.wording.rules import Key
from shop.workshop.rules import Language
from tests.guards.bodies import SEE, Entry

PLANS = Can.KEEP_PLANS
WORDS: dict[str, Any] = {"subject": "Es ist soweit", "text": "Guten Tag,\n\n{items}\n\nAntwort: {answer}"}


def worded(lead: Person) -> None:
    """A letter in the workshop's own words, at version 1."""
    word(by=lead, key=Key.REMINDER, language=Language.DE, seen=0, **WORDS)


_OWN: dict[str, Any] = {"key": "reminder-de"}
_HISTORY = {"GET": Entry(Can.SEE, **_OWN)}
LETTERS_API: dict[str, dict[str, Entry]] = {
    "wordings": {"GET": SEE},
    "wordings/<slug:which>": {"GET": Entry(Can.SEE, **_OWN), "PUT": Entry(PLANS, body=WORDS, **_OWN)},
    "wordings/<slug:which>/shipped": {"POST": Entry(PLANS, **_OWN)},
    "wordings/<slug:which>/preview": {"POST": Entry(Can.SEE, body=WORDS, **_OWN)},
    "wordings/<slug:which>/history": _HISTORY,
}
LETTERS_PAGES: dict[str, dict[str, Entry]] = {
    "office/wordings": {"GET": SEE},
    "office/wordings/<slug:which>": {
        "GET": Entry(Can.SEE, **_OWN),
        "POST": Entry(PLANS, body=WORDS, **_OWN),
    },
    "office/wordings/<slug:which>/shipped": {"GET": Entry(Can.SEE, **_OWN), "POST": Entry(PLANS, **_OWN)},
    "office/wordings/<slug:which>/history": _HISTORY,
}
LETTERS_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("wording_once", "wording_ownwording.key, wording_ownwording.language", "wording_ownwording", {})
]
# Constraints, each with its table and what its newest row is changed to.
LETTER_CONSTRAINTS = [
    ("wording_key_known", "wording_ownwording", {"key": "greeting"}),
    ("wording_language_known", "wording_ownwording", {"language": "xx"}),
    ("wording_whole", "wording_ownwording", {"text": ""}),
]
