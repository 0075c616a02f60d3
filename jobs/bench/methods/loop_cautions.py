"""What a person should know about a breathing loop beside its verdict, and what no verdict may rest on."""

from decimal import Decimal

from jobs.bench.methods.breaths import MAX_GAP
from jobs.bench.methods.loop_figures import Figures
from jobs.bench.methods.loop_values import WORK
from jobs.bench.methods.verdicts import plain

# The fewest evenly spread samples whose error of the method is below 0.02 %.
FEWEST_POINTS = 182
# Shares of the whole span of pressure, and of the mean tidal volume: the project's own choice.
ZERO_SHARE = Decimal("0.05")
TIDAL_SHARE = Decimal("0.03")
AT_THE_SURFACE = (
    "Measured on a bench at the surface: this says nothing of the depth, water and gas that a published limit names, and "
    "claims conformity with no standard."
)


def doubts_of(figures: Figures) -> tuple[str, ...]:
    """Why no verdict may rest on a loop."""
    found = []
    if figures.values[WORK].value < 0:
        found.append(
            "The loop runs the wrong way round: mouth pressure must be negative, and volume rise, on inhalation. "
            "Look at the signs and at which side the sensor is connected."
        )
    if figures.reached_range_end:
        found.append("The pressure reached the end of the instrument's range: use one that reads higher.")
    return tuple(found)


def cautions_of(figures: Figures, not_judged: list[str]) -> tuple[str, ...]:
    """Every caution that the evidence gives cause for, as sentences, and the one that always stands."""
    found = [*_of_the_record(figures), *_of_the_zero(figures)]
    if not_judged:
        found.append(f"Measured, not judged, because no limit was given: {', '.join(not_judged)}.")
    return (*found, AT_THE_SURFACE)


def _of_the_record(figures: Figures) -> list[str]:
    found = []
    if figures.points_a_breath < FEWEST_POINTS:
        found.append(
            f"There are only {figures.points_a_breath} samples in a breath: even when evenly spread, they alone make the "
            f"work come out about {plain(figures.method_error_percent)} % off. From {FEWEST_POINTS} on it is less than 0.02 %."
        )
    if figures.gap_l:
        found.append(
            f"The volume ended up to {plain(figures.gap_l)} L, {plain(figures.gap_percent)} % of the tidal volume, from where "
            f"the breath began. The gap was closed; more than {MAX_GAP:.0%} would be refused."
        )
    if figures.tidal_high_l - figures.tidal_low_l > TIDAL_SHARE * figures.tidal_volume_l:
        found.append(
            f"The breaths differ: tidal volumes from {plain(figures.tidal_low_l)} to {plain(figures.tidal_high_l)} L."
        )
    if figures.samples_left_out:
        found.append(f"{figures.samples_left_out} samples before and after the whole breaths were left out.")
    if figures.breaths > 1 and not figures.instrument_known:
        found.append(
            "Nothing is known of the pressure instrument: the intervals hold the breaths' scatter, not its error."
        )
    return found


def _of_the_zero(figures: Figures) -> list[str]:
    found = []
    allowed_mbar = ZERO_SHARE * figures.span_mbar
    if abs(figures.zero_mbar) > allowed_mbar:
        found.append(
            f"Where nothing flows the pressure is {plain(figures.zero_mbar)} mbar on average: an error of zero or a head of "
            "water. It leaves the work of breathing alone, but shifts the peaks and moves work between inhalation and exhalation."
        )
    if abs(figures.zero_moved_mbar) > allowed_mbar:
        found.append(
            f"The pressure where nothing flows moved by {plain(figures.zero_moved_mbar)} mbar from the first breath to the last: "
            "the sensor drifts."
        )
    return found
