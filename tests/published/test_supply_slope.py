"""Lock-up over supply, against a slope that a public page gives."""

from decimal import Decimal

from jobs.bench.methods.supply_slope import COMPUTATION, SLOPE
from jobs.bench.methods.units import convert
from jobs.bench.methods.worked import judge


def test_it_works() -> None:
    """145 psi at a supply of 3000 psi and 125 psi at 500 psi: 0.008, an unbalanced piston (a trade forum, as read)."""
    rows = "\n".join(
        f"{convert(supply, 'psi', 'bar'):.9f} {convert(lock_up, 'psi', 'bar'):.9f}"
        for supply, lock_up in (("3000", "145"), ("500", "125"))
    )

    result = judge(COMPUTATION, {"design": "unbalanced piston", "rows": rows})

    assert result.values[SLOPE].value == Decimal("0.8000")
    assert "does not fit" not in result.warnings[0]


def test_it_falls_by_so_much_as_a_cylinder_empties() -> None:
    """A seat of 0.008 of the piston's area: from 200 to 50 bar of supply lock-up falls by 1.2 bar (computed)."""
    result = judge(COMPUTATION, {"design": "unbalanced piston", "rows": "200 10.2\n50 9.0"})

    assert result.values[SLOPE].value == Decimal("0.8")
