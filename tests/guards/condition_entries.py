"""What each method of each address about condition lists needs, and what the database states of them."""

from typing import Any

from jobs.condition.actions import look, write_list
from jobs.flow.models import Line
from shop.staff.models import Person
from shop.staff.rules import Can
from tests.guards.bodies import SEE, Entry


def condition_rows(lead: Person, line: Line) -> None:
    """A list of the workshop's own, and a look by the shipped one."""
    write_list(by=lead, kind="second_stage", asks=["Mouthpiece bitten"], seen=0)
    seen = {"said": "seen", "note": "By the police, it says."}
    pieces = [{"line": line, "version": 0, "rest_fine": True, "answers": [seen]}]
    look(by=lead, drop_off=line.drop_off, pieces=pieces)


ASKS = {"asks": ["Mouthpiece torn", "Purge stuck"]}
PIECE = {"line": "@line", "version": 0, "rest_fine": True, "answers": [{"said": "seen", "note": "green"}]}
_FORM = {"line": "@line", "version": "0", "answers[0]said": "seen", "answers[0]note": "green"}
_KIND: dict[str, Any] = {"key": "second_stage"}
CONDITION_API: dict[str, dict[str, Entry]] = {
    "all-condition-lists": {"GET": SEE},
    "condition-lists/<slug:kind>": {
        "GET": Entry(Can.SEE, **_KIND),
        "PUT": Entry(Can.KEEP_PLANS, body=ASKS, **_KIND),
    },
    "drop-offs/<uuid:uid>/looks": {
        "GET": Entry(Can.SEE, "drop_off"),
        "POST": Entry(Can.KEEP_GEAR, "drop_off", body={"pieces": [PIECE]}),
    },
}
CONDITION_PAGES: dict[str, dict[str, Entry]] = {
    "office/condition-lists": {"GET": SEE},
    "office/condition-lists/<slug:kind>": {
        "GET": Entry(Can.SEE, **_KIND),
        "POST": Entry(Can.KEEP_PLANS, body={"asks": "Mouthpiece torn"}, **_KIND),
    },
    "drop-offs/<uuid:uid>/looks": {
        "GET": Entry(Can.SEE, "drop_off"),
        "POST": Entry(
            Can.KEEP_GEAR, "drop_off", body={f"pieces[1]{name}": value for name, value in _FORM.items()}
        ),
    },
}
_LIST, _LOOK, _ANSWER = "condition_conditionlist", "condition_look", "condition_answer"
CONDITION_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("condition_list_n", f"{_LIST}.kind, {_LIST}.n", _LIST, {}),
    ("condition_look_n", f"{_LOOK}.line_id, {_LOOK}.n", _LOOK, {}),
    ("condition_answer_n", f"{_ANSWER}.of_look_id, {_ANSWER}.n", _ANSWER, {}),
]
CONDITION_WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("condition_list_kind_known", _LIST, {"n": 9, "kind": "harpoon"}),
    ("condition_look_kind_known", _LOOK, {"n": 9, "kind": "harpoon"}),
    ("condition_answer_known", _ANSWER, {"n": 99, "said": "safe", "note": ""}),
    ("condition_note_of_what_was_seen", _ANSWER, {"n": 99, "said": "fine", "note": "green"}),
]
