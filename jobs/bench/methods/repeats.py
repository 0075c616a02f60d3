"""The mean of a few repeats and the 95 % interval of that mean, from their scatter alone.

Student's factors are rounded up in the third decimal place, so that no interval comes out short; beyond thirty degrees of
freedom the factor of thirty is kept for the same reason. Source: computed, and compared with SciPy in the tests.
"""

from jobs.bench.methods.logs import Floats

# Two-sided 95 %, for 1 to 30 degrees of freedom.
STUDENT_95 = (
    *(12.707, 4.303, 3.183, 2.777, 2.571, 2.447, 2.365, 2.307, 2.263, 2.229),
    *(2.201, 2.179, 2.161, 2.145, 2.132, 2.120, 2.110, 2.101, 2.094, 2.086),
    *(2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.049, 2.046, 2.043),
)


def student_95(freedom: int) -> float:
    """How many standard errors the half-width of the 95 % interval is, for one degree of freedom or more."""
    return STUDENT_95[min(freedom, len(STUDENT_95)) - 1]


def mean_of(repeats: Floats) -> tuple[float, float | None]:
    """The mean, and the half-width of its 95 % interval in the same unit; None for a single reading."""
    count = len(repeats)
    mean = float(repeats.mean())
    if count < 2:
        return mean, None
    return mean, student_95(count - 1) * float(repeats.std(ddof=1)) / count**0.5
