"""The one table of who may do what, and which authorisation covers which gear."""

from datetime import date

import pytest

from shop.staff.rules import RIGHTS, Can, Role, Scope, authorisation_refusals, covering

EVERYBODY = {"see", "keep own tokens"}
TABLE = {
    "counter": EVERYBODY
    | {
        "keep customers", "keep gear", "check in", "take a go-ahead", "move a job", "hand back", "see letters",
    },
    "technician": EVERYBODY | {"keep gear", "move a job", "work on a job", "test", "sign off"},
    "inspector": EVERYBODY
    | {"keep gear", "move a job", "work on a job", "test", "sign off", "keep instruments"},
    "storekeeper": EVERYBODY | {"keep stock"},
    "lead": EVERYBODY
    | {
        "keep customers", "keep gear", "keep plans", "keep people", "keep stock", "keep instruments", "check in",
        "take a go-ahead", "assign", "move a job", "hand back", "see letters",
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
    gear = {"maker": "Tarnwell", "kind": "first_stage", "kind_label": "first stage"}

    assert authorisation_refusals("Ines Okafor", [ENDS], **gear, on=DAY) == []
    (refusal,) = authorisation_refusals("Ines Okafor", [ENDS], **gear, on=date(2031, 7, 1))
    assert (refusal.code, refusal.sentence) == (
        "not-authorised",
        "Ines Okafor is not authorised for a first stage by Tarnwell on 2031-07-01.",
    )
