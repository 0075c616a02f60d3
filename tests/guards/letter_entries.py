"""What each method of each address of what letters say, and when, needs."""

from typing import Any

from jobs.reminders.actions import set_ladder
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.wording.actions import word
from shop.wording.rules import Key
from shop.workshop.rules import Language
from tests.guards.bodies import SEE, Entry

PLANS = Can.KEEP_PLANS
WORDS: dict[str, Any] = {"subject": "Es ist soweit", "text": "Guten Tag,\n\n{items}\n\nAntwort: {answer}"}


def worded(lead: Person) -> None:
    """A letter in the workshop's own words and a ladder of its own, each at version 1."""
    set_ladder(by=lead, clock="any-clock", rungs=[-28, 0, 30], seen=0)
    own_words(lead)


def own_words(lead: Person) -> None:
    """The German reminder in the workshop's own words."""
    word(by=lead, key=Key.REMINDER, language=Language.DE, seen=0, **WORDS)


_OWN: dict[str, Any] = {"key": "reminder-de"}
_HISTORY = {"GET": Entry(Can.SEE, **_OWN)}
TIMES: dict[str, Any] = {"language": "en", "letters_from": 9, "letters_until": 18}
_LADDER: dict[str, Any] = {"key": "any-clock"}
LETTERS_API: dict[str, dict[str, Entry]] = {
    "letters-ahead": {"GET": Entry(Can.SEE_LETTERS)},
    "letter-times": {"GET": SEE, "PUT": Entry(Can.KEEP_PEOPLE, body=TIMES)},
    "all-ladders": {"GET": SEE},
    "ladders/<slug:clock>": {
        "GET": Entry(Can.SEE, **_LADDER),
        "PUT": Entry(PLANS, body={"rungs": "-7, 0"}, **_LADDER),
    },
    "all-wordings": {"GET": SEE},
    "wordings/<slug:which>": {"GET": Entry(Can.SEE, **_OWN), "PUT": Entry(PLANS, body=WORDS, **_OWN)},
    "wordings/<slug:which>/shipped": {"POST": Entry(PLANS, **_OWN)},
    "wordings/<slug:which>/preview": {"POST": Entry(Can.SEE, body=WORDS, **_OWN)},
    "wordings/<slug:which>/history": _HISTORY,
}
LETTERS_PAGES: dict[str, dict[str, Entry]] = {
    "office/letters/next": {"GET": Entry(Can.SEE_LETTERS)},
    "office/letters/times": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE, body=TIMES)},
    "office/letters/ladders": {"GET": SEE},
    "office/letters/ladders/<slug:clock>": {
        "GET": Entry(Can.SEE, **_LADDER),
        "POST": Entry(PLANS, body={"rungs": "-7, 0"}, **_LADDER),
    },
    "office/wordings": {"GET": SEE},
    "office/wordings/<slug:which>": {
        "GET": Entry(Can.SEE, **_OWN),
        "POST": Entry(PLANS, body=WORDS, **_OWN),
    },
    "office/wordings/<slug:which>/shipped": {"GET": Entry(Can.SEE, **_OWN), "POST": Entry(PLANS, **_OWN)},
    "office/wordings/<slug:which>/history": _HISTORY,
}
LETTERS_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("wording_once", "wording_ownwording.key, wording_ownwording.language", "wording_ownwording", {}),
    ("reminders_ladder_clock", "reminders_ladder.clock", "reminders_ladder", {}),
]
# Constraints, each with its table and what its newest row is changed to.
LETTER_CONSTRAINTS = [
    ("wording_key_known", "wording_ownwording", {"key": "greeting"}),
    ("wording_language_known", "wording_ownwording", {"language": "xx"}),
    ("customer_language_known", "customers_customer", {"language": "xx"}),
    ("workshop_language_known", "workshop_workshop", {"language": "xx"}),
    ("workshop_letter_hours", "workshop_workshop", {"letters_until": 8}),
    ("workshop_letters_a_day", "workshop_workshop", {"letters_a_day": 0}),
    ("wording_whole", "wording_ownwording", {"text": ""}),
]
