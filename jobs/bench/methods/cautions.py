"""What a person should know about a trace beside its verdict."""

from jobs.bench.methods.figures import Figures
from jobs.bench.methods.verdicts import plain


def cautions_of(figures: Figures, not_judged: list[str]) -> tuple[str, ...]:
    """Every caution that the evidence gives cause for, as sentences."""
    found = [f"No limit was given for {quantity}: measured, not judged." for quantity in not_judged]
    if figures.steps_are_coarse:
        found.append(
            f"The sensor's steps of {plain(figures.sensor_step_bar)} bar are coarser than the noise: "
            "a slow creep can hide between two of them."
        )
    if figures.reached_range_end:
        found.append("The pressure reached the end of the instrument's range.")
    if figures.clipped_bar is not None:
        found.append(
            f"The sensor stood at {plain(figures.clipped_bar)} bar, the end of what it showed: it was clipped there or stuck."
        )
    if figures.drops > 1:
        found.append(f"The pressure dropped {figures.drops} times; only the last recovery was judged.")
    if figures.left_again:
        assert figures.unsettled_s is not None
        found.append(
            f"The pressure had settled and left its band again, last {plain(figures.unsettled_s)} s after "
            "the purge. If nobody touched the set-up, that is a finding."
        )
    if figures.hunting is not None:
        found.append(
            f"The pressure hunts: it swings by {plain(figures.hunting.amplitude_bar)} bar to either side, "
            f"{plain(figures.hunting.frequency_hz)} times a second."
        )
    if figures.rise_slows_down:
        found.append(
            "The rise slows down: gas warming after a purge can look like creep. Wait, then measure again."
        )
    elif figures.creep_changes:
        found.append(
            "The creep is not steady: it differs between the first and the second half of its window."
        )
    return (*found, *_of_gaps(figures))


def _of_gaps(figures: Figures) -> list[str]:
    found = []
    if figures.longest_gap_s is not None:
        said = f"Samples are missing: there is a gap of {plain(figures.longest_gap_s)} s."
        if figures.window_start_s is not None and figures.window_end_s is not None:
            said += (
                f" Creep was judged where none is missing, from {plain(figures.window_start_s)} to "
                f"{plain(figures.window_end_s)} s."
            )
        found.append(said)
    if figures.gap_across_recovery:
        found.append(
            "The gap lies across the purge or the recovery: only the longest time to lock up is known."
        )
    return found
