"""The one table of who may do what, and which authorisation covers which gear."""

from datetime import date
from typing import Any

import pytest

from shop.staff.rules import (
    RIGHTS,
    Can,
    Role,
    Scope,
    authorisation_refusals,
    covering,
    lead_refusals,
    leaving_refusals,
    scope_words,
    teacher_refusals,
)

EVERYBODY = {"see", "keep own tokens"}
BENCH = {
    "keep gear", "move a job", "work on a job", "test", "sign off", "hold a job", "pass gear on", "open a kit",
    "raise a doubt", "answer a safety notice",
}  # fmt: skip
TABLE = {
    "counter": EVERYBODY
    | {
        "keep customers", "keep gear", "check in", "take a go-ahead", "move a job", "hand back", "lend our own gear",
        "see letters", "keep letters", "hold a job", "pass gear on", "promise a day", "answer a safety notice", "bill and mark payments",
    },
    "technician": EVERYBODY | BENCH,
    "inspector": EVERYBODY | BENCH | {"keep instruments", "open another round", "answer a doubt"},
    "storekeeper": EVERYBODY | {"keep stock", "open a kit", "answer a safety notice"},
    "lead": EVERYBODY
    | {
        "keep customers", "keep gear", "keep plans", "keep people", "keep stock", "keep instruments", "check in",
        "take a go-ahead", "assign", "move a job", "hand back", "lend our own gear", "see letters", "keep letters",
        "hold a job", "pass gear on",
        "promise a day", "open a kit", "open another round", "release evidence", "dispose of gear", "raise a doubt",
        "answer a doubt", "override a refusal", "bring in and take out", "keep safety notices", "answer a safety notice", "answer for people's rights",
        "bill and mark payments",
    },
}  # fmt: skip


@pytest.mark.parametrize("role", list(Role))
def test_it_works(role: Role) -> None:
    assert {str(right) for right in RIGHTS[role]} == TABLE[role]


def test_it_gives_every_right_to_somebody() -> None:
    assert set().union(*RIGHTS.values()) == set(Can)
    assert set(RIGHTS) == set(Role)


def test_it_keeps_the_bench_from_the_lead_and_the_people_from_the_bench() -> None:
    assert not RIGHTS[Role.LEAD] & {Can.WORK, Can.TEST, Can.SIGN}
    assert [role for role in Role if Can.KEEP_PEOPLE in RIGHTS[role]] == [Role.LEAD]


DAY = date(2031, 6, 30)
OPEN = Scope("Tarnwell", "first_stage", None)
ENDS = Scope("Tarnwell", "first_stage", DAY)


@pytest.mark.parametrize(
    ("scopes", "maker", "kind", "on", "found"),
    [
        ([], "Tarnwell", "first_stage", DAY, None),
        ([OPEN], "Tarnwell", "first_stage", date(2099, 1, 1), OPEN),
        ([OPEN], "Tarnwell", "second_stage", DAY, None),
        ([OPEN], "Skerryvane", "first_stage", DAY, None),
        ([OPEN], "tarnwell", "first_stage", DAY, None),
        ([Scope("", "", None)], "Skerryvane", "second_stage", DAY, Scope("", "", None)),
        ([Scope("Tarnwell", "", None)], "Tarnwell", "second_stage", DAY, Scope("Tarnwell", "", None)),
        ([Scope("", "first_stage", None)], "Pellmoor", "first_stage", DAY, Scope("", "first_stage", None)),
        ([ENDS], "Tarnwell", "first_stage", date(2031, 6, 29), ENDS),
        ([ENDS], "Tarnwell", "first_stage", DAY, ENDS),
        ([ENDS], "Tarnwell", "first_stage", date(2031, 7, 1), None),
        ([ENDS, OPEN], "Tarnwell", "first_stage", date(2031, 7, 1), OPEN),
    ],
)
def test_it_covers_to_and_including_the_last_day(
    scopes: list[Scope], maker: str, kind: str, on: date, found: Scope | None
) -> None:
    assert covering(scopes, maker=maker, kind=kind, on=on) == found


def test_it_says_who_is_not_authorised_for_what() -> None:
    gear: dict[str, Any] = {"maker": "Tarnwell", "kind": "first_stage", "kind_label": "first stage"}

    assert authorisation_refusals("Ines Okafor", [ENDS], **gear, on=DAY) == []
    (refusal,) = authorisation_refusals("Ines Okafor", [ENDS], **gear, on=date(2031, 7, 1))
    assert (refusal.code, refusal.sentence) == (
        "not-authorised",
        "Ines Okafor is not authorised for a first stage by Tarnwell on 2031-07-01.",
    )


PLAIN = Scope("Tarnwell", "", None)
CYLINDERS = Scope("Tarnwell", "", None, cylinders=True)
OXYGEN = Scope("Tarnwell", "", None, oxygen_clean=True)
BOTH = Scope("Tarnwell", "", None, cylinders=True, oxygen_clean=True)
TRAINEE = Scope("Tarnwell", "", None, under="Marek Dunwell", teacher=(PLAIN,))
TAUGHT_CYLINDERS = Scope("Tarnwell", "", None, True, False, "Marek Dunwell", (CYLINDERS,))
TAUGHT_TOO_MUCH = Scope("Tarnwell", "", None, True, False, "Marek Dunwell", (PLAIN,))
ALONE = Scope("Tarnwell", "", None, under="Marek Dunwell")
ENDED = Scope(
    "Tarnwell", "", None, under="Marek Dunwell", teacher=(Scope("Tarnwell", "", date(2031, 6, 29)),)
)


@pytest.mark.parametrize(
    ("scopes", "kind", "oxygen", "signing", "found"),
    [
        ([PLAIN], "cylinder", False, False, None),
        ([CYLINDERS], "cylinder", False, False, CYLINDERS),
        ([CYLINDERS], "cylinder", True, False, None),
        ([CYLINDERS, OXYGEN], "cylinder", True, False, None),
        ([PLAIN, CYLINDERS, BOTH], "cylinder", True, True, BOTH),
        ([PLAIN], "first_stage", True, False, None),
        ([OXYGEN], "first_stage", True, False, OXYGEN),
        ([OXYGEN], "first_stage", False, True, OXYGEN),
        ([TRAINEE], "first_stage", False, False, TRAINEE),
        ([TRAINEE], "first_stage", False, True, None),
        ([TRAINEE, PLAIN], "first_stage", False, False, PLAIN),
        ([TRAINEE, PLAIN], "first_stage", False, True, PLAIN),
        ([TRAINEE], "cylinder", False, False, None),
        ([TAUGHT_CYLINDERS], "cylinder", False, False, TAUGHT_CYLINDERS),
        ([TAUGHT_TOO_MUCH], "cylinder", False, False, None),
        ([TAUGHT_TOO_MUCH], "first_stage", False, False, TAUGHT_TOO_MUCH),
        ([ALONE], "first_stage", False, False, None),
        ([ENDED], "first_stage", False, False, None),
    ],
)
def test_it_asks_for_the_scopes_of_the_work_and_for_a_teacher(
    scopes: list[Scope], kind: str, oxygen: bool, signing: bool, found: Scope | None
) -> None:
    asked: dict[str, Any] = {"maker": "Tarnwell", "kind": kind, "on": DAY}

    assert covering(scopes, **asked, oxygen=oxygen, signing=signing) == found


@pytest.mark.parametrize(
    ("scopes", "kind", "oxygen", "signing", "said"),
    [
        ([PLAIN], "cylinder", False, False, ["Ines Okafor is not authorised for cylinder work."]),
        (
            [PLAIN],
            "cylinder",
            True,
            False,
            [
                "Ines Okafor is not authorised for cylinder work.",
                "Ines Okafor is not authorised for work on oxygen-clean gear.",
            ],
        ),
        (
            [CYLINDERS],
            "cylinder",
            True,
            True,
            ["Ines Okafor is not authorised for work on oxygen-clean gear."],
        ),
        (
            [CYLINDERS, OXYGEN],
            "cylinder",
            True,
            False,
            ["Ines Okafor is not authorised for a cylinder by Tarnwell on 2031-06-30."],
        ),
        ([TRAINEE], "first_stage", False, True, ["Ines Okafor works under Marek Dunwell, who signs."]),
        (
            [ENDED],
            "first_stage",
            False,
            False,
            [
                "Ines Okafor works under Marek Dunwell, who is not authorised for a first stage by Tarnwell on "
                "2031-06-30."
            ],
        ),
        ([TRAINEE], "first_stage", False, False, []),
        ([BOTH], "cylinder", True, True, []),
    ],
)
def test_it_says_which_scope_is_missing(
    scopes: list[Scope], kind: str, oxygen: bool, signing: bool, said: list[str]
) -> None:
    found = authorisation_refusals(
        "Ines Okafor", scopes, maker="Tarnwell", kind=kind, kind_label=kind.replace("_", " "), on=DAY,
        oxygen=oxygen, signing=signing,
    )  # fmt: skip

    assert [refusal.sentence for refusal in found] == said


@pytest.mark.parametrize(
    ("scope", "words"),
    [
        (PLAIN, "Tarnwell, any kind of gear, no last day"),
        (ENDS, "Tarnwell, first stage, to 2031-06-30"),
        (BOTH, "Tarnwell, any kind of gear, cylinder work, oxygen-clean work, no last day"),
        (TRAINEE, "trainee under Marek Dunwell, Tarnwell, any kind of gear, no last day"),
    ],
)
def test_it_keeps_an_authorisation_in_words(scope: Scope, words: str) -> None:
    assert scope_words(scope) == words


def test_it_cuts_words_that_no_column_holds() -> None:
    assert len(scope_words(Scope("M" * 80, "k" * 40, None, True, True, "N" * 120))) == 200


def test_it_says_who_may_teach_and_who_may_leave() -> None:
    assert teacher_refusals("Marek Dunwell", is_self=False, may_alone=True) == []
    (own,) = teacher_refusals("Marek Dunwell", is_self=True, may_alone=True)
    (beyond,) = teacher_refusals("Marek Dunwell", is_self=False, may_alone=False)
    assert (own.code, beyond.code) == ("own-teacher", "teacher-not-authorised")
    assert lead_refusals(1) == leaving_refusals(is_self=False, leads_left=2) == []
    assert [r.code for r in leaving_refusals(is_self=True, leads_left=0)] == ["self", "last-lead"]
