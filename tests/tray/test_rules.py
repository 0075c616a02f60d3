"""How a loose part may end."""

import pytest

from jobs.tray.rules import ending_refusals, open_parts
from tests.plans import plan

PLAN = plan()


@pytest.mark.parametrize(
    ("key", "ending", "leg", "ended", "has_lot", "codes"),
    [
        ("seat", "renewed", "stripping", [], True, []),
        ("seat", "renewed", "cleaning", ["pin"], True, []),
        ("pin", "reused", "cleaning", [], False, []),
        ("seat", "reused", "cleaning", [], False, ["must-renew"]),
        ("seat", "renewed", "cleaning", [], False, ["lot-missing"]),
        ("seat", "renewed", "cleaning", ["seat"], True, ["ended-before"]),
        ("pin", "renewed", "cleaning", [], True, ["no-part"]),
        ("pin", "reused", "cleaning", [], True, ["lot-unasked"]),
        ("seat", "reused", "testing", ["seat"], True, ["wrong-leg", "ended-before", "must-renew", "lot-unasked"]),
        *[("pin", "reused", leg, [], False, ["wrong-leg"]) for leg in (
            "checked_in", "cleared", "rebuilding", "testing", "signed_off", "handed_back", "disposed",
        )],
    ],
)  # fmt: skip
def test_it_works(key: str, ending: str, leg: str, ended: list[str], has_lot: bool, codes: list[str]) -> None:
    part = PLAN.part(key)
    assert part is not None

    assert [r.code for r in ending_refusals(part, ending, leg, ended, has_lot=has_lot)] == codes


def test_it_names_each_open_part_with_the_step_that_frees_it() -> None:
    ended = [part.key for part in PLAN.parts if part.key not in ("pin", "yoke_ring")]

    assert [refusal.sentence for refusal in open_parts(PLAN, ended)] == [
        "Step 2, Take off the yoke, the filter and its O-ring: yoke o-ring is not accounted for.",
        "Step 4, Lift the diaphragm out flat: lifter pin is not accounted for.",
    ]
    assert len(open_parts(PLAN, [])) == 12
    assert open_parts(PLAN, [part.key for part in PLAN.parts]) == []
