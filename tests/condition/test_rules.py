"""What counts as looked at, and what is refused."""

from typing import Any

import pytest

from jobs.condition.rules import Given, Piece, look_refusals, looked, settled

ASKS = ["Filter dirty", "Ports open", "Dents"]
FINE, SEEN, NOT, OPEN = Given("fine"), Given("seen", "green"), Given("not looked at"), Given()


def piece(*given: Given, **more: Any) -> Piece:
    return Piece("C-0001-1", **{"asks": ASKS, "given": given} | more)


@pytest.mark.parametrize(
    ("given", "rest_fine", "said"),
    [
        ([], False, "not looked at, not looked at, not looked at"),
        ([], True, "fine, fine, fine"),
        ([OPEN, SEEN], False, "not looked at, seen, not looked at"),
        ([OPEN, SEEN], True, "fine, seen, fine"),
        ([NOT, SEEN], True, "not looked at, seen, fine"),
        ([FINE, NOT, FINE], False, "fine, not looked at, fine"),
    ],
)
def test_it_works(given: list[Given], rest_fine: bool, said: str) -> None:
    """What is left open was not looked at, unless somebody says that the rest is fine."""
    found = piece(*given, rest_fine=rest_fine)

    assert ", ".join(each.said for each in settled(found)) == said
    assert looked(found) is (said != "not looked at, not looked at, not looked at")


@pytest.mark.parametrize(
    ("pieces", "codes"),
    [
        ([piece(SEEN)], []),
        ([piece(), piece(FINE)], []),
        ([piece(), piece(NOT, NOT)], ["nothing-looked-at"]),
        ([piece(Given("fine", "green"), Given("", "two of them"))], ["note-of-nothing", "note-of-nothing"]),
        ([piece(FINE, FINE, FINE, FINE)], ["too-many-answers"]),
        ([piece(FINE, asks=[])], ["nothing-asked"]),
        ([piece(FINE, asks=[], itemised=False)], ["not-itemised"]),
        ([piece(FINE, here=False)], ["gone"]),
        ([piece(FINE, here=False, other=True)], ["other-drop-off"]),
        ([piece(FINE), piece(FINE, twice=True, here=False)], ["piece-twice", "gone"]),
    ],
)
def test_it_says_every_reason_at_once(pieces: list[Piece], codes: list[str]) -> None:
    assert [each.code for each in look_refusals(pieces)] == codes
