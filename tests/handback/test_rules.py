"""What may go over the counter."""

import pytest

from jobs.flow.rules import Leg, Outcome
from jobs.handback.rules import Ready, hand_back_refusals

WELL = {"E-00001": Ready("E-00001", "signed_off", "serviced")}


@pytest.mark.parametrize(
    ("scanned", "codes"),
    [
        (["E-00001"], []),
        ([], ["nothing-scanned"]),
        (["E-00002"], ["not-of-this-drop-off"]),
        (["E-00001", "E-00001"], ["scanned-twice"]),
        (["E-00002", "E-00002"], ["scanned-twice", "not-of-this-drop-off"]),
        (["E-00001", "E-00003", "E-00002"], ["not-of-this-drop-off", "not-of-this-drop-off"]),
    ],
)
def test_it_works(scanned: list[str], codes: list[str]) -> None:
    assert [r.code for r in hand_back_refusals(WELL, scanned, acknowledged=False)] == codes


@pytest.mark.parametrize("leg", [leg for leg in Leg if leg != "signed_off"])
def test_it_lets_nothing_go_that_is_not_signed_off(leg: str) -> None:
    ready = {"E-00001": Ready("E-00001", leg, "", here=leg != "handed_back")}
    code = "handed-back-before" if leg == "handed_back" else "not-signed-off"

    assert [r.code for r in hand_back_refusals(ready, ["E-00001"], acknowledged=True)] == [code]


@pytest.mark.parametrize("outcome", list(Outcome))
def test_it_asks_for_an_acknowledgement_unless_the_gear_is_serviced(outcome: str) -> None:
    ready = {"E-00001": Ready("E-00001", "signed_off", outcome)}

    found = hand_back_refusals(ready, ["E-00001"], acknowledged=False)

    assert hand_back_refusals(ready, ["E-00001"], acknowledged=True) == []
    assert [r.code for r in found] == ([] if outcome == "serviced" else ["do-not-dive"])


def test_it_tells_of_every_item() -> None:
    ready = WELL | {
        "E-00002": Ready("E-00002", "signed_off", "condemned"),
        "E-00003": Ready("E-00003", "testing", ""),
    }

    assert [r.sentence for r in hand_back_refusals(ready, sorted(ready), acknowledged=False)] == [
        "E-00002 is condemned: the collector must acknowledge “do not dive”.",
        "E-00003 is not signed off; it is on testing.",
    ]
