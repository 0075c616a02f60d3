"""What is published on cylinders as plain rules: wall stress, elastic expansion, plus mark, digs, cracks, threads, discs.

Each rule gives a figure, or says why something is refused; that nothing is refused says nothing of the cylinder as a whole.
"From memory" marks what was not confirmed in print; limits that are not here were not confirmed at all. Section numbers
are those of 49 CFR where nothing else is named. ValueError on measures that no cylinder has.
"""

from decimal import Decimal
from enum import StrEnum

from jobs.bench.methods.finding import Finding
from jobs.bench.methods.verdicts import plain


class Thread(StrEnum):
    """Threads of cylinder necks and valves."""

    M25X2 = "M25x2"
    NPSM_3_4 = "3/4-14 NPSM"
    BSP_3_4 = "3/4 BSP"
    NGT_1_2 = "1/2 NGT"
    M18X1_5 = "M18x1.5"  # from memory


# 180.209(a) table 1: tested at 5/3 of the service pressure.
FIVE_THIRDS = frozenset({"3A", "3AA", "3AL", "3AX", "3AAX", "3HT", "3T"})
# 173.302a(b): may be filled to 110 % once a plus is marked; 3AL never.
PLUS = frozenset({"3A", "3AA", "3AX", "3AAX", "3T"})
PLUS_PERCENT = Decimal(110)
# 178.46, from memory: 3AL, share of minimum yield and of minimum tensile strength, the lesser.
YIELD_SHARE, TENSILE_SHARE = Decimal("0.80"), Decimal("0.67")
# CGA C-6.1 4.2 as quoted on public pages: digs in aluminium, shorter than 6.0 in.
DIG_SHARE, DIG_UNKNOWN_WALL_IN = Decimal("0.15"), Decimal("0.031")
# Part 180, appendix C: alloy 6351-T6.
CRACK_THREADS = Decimal(2)
# An M25x2 valve takes a few threads of these before it binds (a diving safety organisation).
TAKE_M25 = frozenset({Thread.NPSM_3_4, Thread.BSP_3_4})


def least_test_pressure(specification: str, service: Decimal) -> Decimal:
    """The least test pressure, 5/3 of service pressure, in the unit given; ValueError on any other specification."""
    if specification not in FIVE_THIRDS:
        raise ValueError(f"The test pressure of {specification} is not 5/3 of its service pressure.")
    return _above_0(service) * 5 / 3


def wall_stress(pressure: Decimal, outside: Decimal, inside: Decimal) -> Decimal:
    """Stress in the wall, in the unit of pressure; the diameters in any one unit (178.36, 178.37, 178.45, 178.46)."""
    if _above_0(inside) >= _above_0(outside):
        raise ValueError("The inside diameter must be less than the outside diameter.")
    squares = Decimal("1.3") * outside**2 + Decimal("0.4") * inside**2
    return _above_0(pressure) * squares / (outside**2 - inside**2)


def inside_diameter(stress: Decimal, pressure: Decimal, outside: Decimal) -> Decimal:
    """The widest bore at which the wall stays at a stress, in the unit of `outside`: the inverse of `wall_stress`."""
    bears = _above_0(stress) - Decimal("1.3") * _above_0(pressure)
    if bears <= 0:
        raise ValueError("No wall is thick enough for that stress at this pressure.")
    return _above_0(outside) * (bears / (stress + Decimal("0.4") * pressure)).sqrt()


def allowed_stress_3al(yield_strength: Decimal, tensile: Decimal) -> Decimal:
    """The most that the wall of a 3AL may bear, in the unit of the two minimum strengths (from memory)."""
    return min(YIELD_SHARE * _above_0(yield_strength), TENSILE_SHARE * _above_0(tensile))


def rejection_elastic(factor: Decimal, volume: Decimal, stress_psi: Decimal, test_psi: Decimal) -> Decimal:
    """Rejection elastic expansion, in the unit of the water volume, 173.302a(b)(3) (from memory).

    `factor` is the maker's K with its power of ten, 1.32E-7. A marked or tabulated figure always wins over this one, and
    where it came from is to be kept with it.
    """
    stretch = _above_0(stress_psi) + Decimal("0.4") * _above_0(test_psi)
    return _above_0(factor) * _above_0(volume) * stretch / Decimal("1.7")


def average_stress(factor: Decimal, volume: Decimal, elastic: Decimal, test_psi: Decimal) -> Decimal:
    """Average wall stress in psi from the elastic expansion found: the inverse of `rejection_elastic` (from memory)."""
    stretch = Decimal("1.7") * _above_0(elastic) / (_above_0(factor) * _above_0(volume))
    return stretch - Decimal("0.4") * _above_0(test_psi)


def plus_refusals(
    *,
    specification: str,
    elastic: Decimal,
    rejection: Decimal | None,
    disc_burst: Decimal | None,
    test_pressure: Decimal,
    dry_gas: bool,
    corroded: bool,
) -> list[str]:
    """Why a cylinder gets no plus mark, 173.302a(b); every condition is needed.

    `dry_gas`: non-flammable, non-poisonous and non-liquefied. `rejection` None: neither marked nor worked out. Volumes
    and pressures each in one unit.
    """
    found = []
    if specification not in PLUS:
        found.append(f"A {specification} cylinder is never marked with a plus.")
    if rejection is None:
        found.append("Its rejection elastic expansion is not known.")
    elif elastic > rejection:
        found.append(f"Elastic expansion {plain(elastic)} is above {plain(rejection)}.")
    if disc := disc_refusal(disc_burst, test_pressure):
        found.append(disc)
    if not dry_gas:
        found.append("The gas must be non-flammable, non-poisonous and non-liquefied.")
    if corroded:
        found.append("It is corroded too much.")
    return found


def plus_fill(specification: str, service: Decimal) -> Decimal:
    """The filling pressure of a cylinder that bears a plus; ValueError on a specification that never does."""
    if specification not in PLUS:
        raise ValueError(f"A {specification} cylinder is never marked with a plus.")
    return _above_0(service) * PLUS_PERCENT / 100


def dig_depth_limit_in(design_wall_in: Decimal | None) -> Decimal:
    """How deep a dig shorter than 6.0 in may be in an aluminium cylinder, in inches; None: the wall is not known."""
    return DIG_UNKNOWN_WALL_IN if design_wall_in is None else DIG_SHARE * _above_0(design_wall_in)


def neck_crack_6351(threads: Decimal) -> Finding | None:
    """What a crack over so many threads means in neck or shoulder of alloy 6351-T6.

    None is no pass: appendix C is silent on shorter cracks, and CGA C-6.1 decides.
    """
    return Finding.CONDEMN if _above_0(threads) >= CRACK_THREADS else None


def thread_refusal(neck: Thread, valve: Thread) -> str:
    """Why a valve must not go into a neck, or nothing where the threads are the same."""
    if neck == valve:
        return ""
    said = f"The neck is {neck} and the valve is {valve}: they must not be put together."
    if valve == Thread.M25X2 and neck in TAKE_M25:
        said += " The valve starts in this neck and then binds: that mismatch has been fatal."
    return said


def disc_refusal(burst: Decimal | None, test_pressure: Decimal | None) -> str:
    """Why a burst disc does not fit a cylinder, or nothing; both pressures in one unit.

    Read for plus-marked cylinders (173.302a(b)), from memory for all others (173.301(f)). `test_pressure` is as marked or declared: 5/3 of 2015 psi is 3358.33, less than the usual disc's 3360.
    """
    if burst is None or test_pressure is None:
        return "The burst pressure of the disc and the marked test pressure must both be known."
    if _above_0(burst) > _above_0(test_pressure):
        return f"The disc bursts at {plain(burst)}, above the test pressure {plain(test_pressure)}."
    return ""


def _above_0(measure: Decimal) -> Decimal:
    if not (measure.is_finite() and measure > 0):
        raise ValueError(f"{measure} is no measure of a cylinder: it must be above 0.")
    return measure
