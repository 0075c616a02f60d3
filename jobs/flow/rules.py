"""The passage of a job as one table, and its drawing as a dive. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from shop.workshop.rules import Refusal


class Leg(StrEnum):
    """Where a job is on its passage."""

    CHECKED_IN = "checked_in"
    CLEARED = "cleared"
    STRIPPING = "stripping"
    CLEANING = "cleaning"
    REBUILDING = "rebuilding"
    TESTING = "testing"
    SIGNED_OFF = "signed_off"
    HANDED_BACK = "handed_back"
    DISPOSED = "disposed"


ENDED = (Leg.HANDED_BACK, Leg.DISPOSED)
WORKING = (Leg.STRIPPING, Leg.CLEANING, Leg.REBUILDING, Leg.TESTING)


class Outcome(StrEnum):
    """What a round came to."""

    SERVICED = "serviced"
    FAILED = "failed"
    BEYOND_REPAIR = "beyond repair"
    CONDEMNED = "condemned"
    DECLINED = "declined"


@dataclass(frozen=True)
class Facts:
    """What each room knows of a job when it is asked to move; every field is a list of refusals, empty when well."""

    flow: tuple[Refusal, ...] = ()
    go_ahead: tuple[Refusal, ...] = ()
    technician: tuple[Refusal, ...] = ()
    emptied: tuple[Refusal, ...] = ()
    stripped: tuple[Refusal, ...] = ()
    tray: tuple[Refusal, ...] = ()
    steps: tuple[Refusal, ...] = ()
    tests: tuple[Refusal, ...] = field(default=())


# The whole passage: to enter a leg, these facts must be well. Sign-off and hand-back ask more in their own rooms.
ASKS: dict[Leg, tuple[str, ...]] = {
    Leg.CLEARED: ("flow", "go_ahead"),
    Leg.STRIPPING: ("technician", "emptied"),
    Leg.CLEANING: ("technician", "emptied", "stripped"),
    Leg.REBUILDING: ("technician", "emptied", "stripped", "tray"),
    Leg.TESTING: ("technician", "emptied", "stripped", "tray", "steps"),
    Leg.SIGNED_OFF: ("technician", "emptied", "stripped", "tray", "steps", "tests"),
    Leg.HANDED_BACK: (),
}


def move_refusals(
    legs: Sequence[str], here: str, to: str, reason: str, facts: Facts, *, closing: bool = False
) -> list[Refusal]:
    """Every reason why a job on `here` may not move to `to`: one leg forward, or back to a working leg with a reason.

    `closing` is a sign-off with another outcome than serviced: it may leave any leg between check-in and hand-back.
    """
    if to not in legs or here not in legs:
        return [Refusal("no-such-leg", f"This job has no leg named {to.replace('_', ' ')}.", "to")]
    ahead = list(legs).index(to) - list(legs).index(here)
    if here in ENDED:
        return [Refusal("job-ended", "This job has ended.")]
    if ahead <= 0:
        return _back_refusals(here, to, reason)
    if closing and to == Leg.SIGNED_OFF:
        return []
    if ahead > 1:
        following = legs[list(legs).index(here) + 1].replace("_", " ")
        return [Refusal("not-next", f"The next leg of this job is {following}.", "to")]
    return [refusal for name in ASKS[Leg(to)] for refusal in getattr(facts, name)]


def _back_refusals(here: str, to: str, reason: str) -> list[Refusal]:
    if to == here:
        return [Refusal("already-there", f"The job is on {here.replace('_', ' ')} already.", "to")]
    found = []
    if here == Leg.SIGNED_OFF:
        found.append(Refusal("signed-off", "A signed-off round is not reopened here."))
    if to not in WORKING:
        found.append(Refusal("not-a-working-leg", "A job goes back to a working leg only.", "to"))
    if not reason:
        found.append(Refusal("reason-missing", "Say why the job goes back.", "reason"))
    return found


def still_counts(legs: Sequence[str], leg: str, recorded_after: int, backs: Sequence[str]) -> bool:
    """Whether work on a leg still counts, recorded after so many of the moves back.

    Going back to the leg itself or to an earlier one makes it be done again.
    """
    order = list(legs)
    return all(order.index(to) > order.index(leg) for to in backs[recorded_after:])


def following(legs: Iterable[str], here: str) -> str | None:
    """The leg after `here`, or None at the end."""
    known = list(legs)
    at = known.index(here) + 1
    return known[at] if at < len(known) else None


# Depth of each leg, 0 = surface, 1 = bottom. It has no scale on purpose: this is no logged dive.
DEPTHS = {
    "checked_in": 0.0,
    "cleared": 0.16,
    "stripping": 1.0,
    "cleaning": 1.0,
    "rebuilding": 0.66,
    "testing": 0.36,
    "signed_off": 0.1,
    "handed_back": 0.0,
    "disposed": 0.66,  # what is disposed of never surfaces
}
LEG_LABELS = {key: key.replace("_", " ") for key in DEPTHS} | {"disposed": "disposed of"}


@dataclass(frozen=True)
class DiveLeg:
    """One leg as a point in px, with the place and the anchor of its label."""

    key: str
    label: str
    state: str
    x: int
    y: int
    label_x: int
    label_y: int
    anchor: str


@dataclass(frozen=True)
class Dive:
    """A drawn job: points and SVG paths in px, and the same said in a sentence."""

    legs: tuple[DiveLeg, ...]
    line_done: str
    line_ahead: str
    water: str
    surface: int
    held: bool
    sentence: str
    width: int
    height: int
    compact: bool

    @property
    def here(self) -> DiveLeg:
        """The leg the job is on."""
        return next(leg for leg in self.legs if leg.state == "here")


@dataclass(frozen=True)
class _Frame:
    """The paper a dive is drawn on, in px."""

    width: int
    side: int
    top: int
    bottom: int
    under: int


_FULL = _Frame(width=560, side=34, top=28, bottom=88, under=28)
_COMPACT = _Frame(width=250, side=10, top=11, bottom=53, under=11)


def dive(legs: Sequence[str], here: str, held: bool, compact: bool) -> Dive:
    """Draw a job at `here` on its own legs; ValueError for an unknown leg or a `here` not among them."""
    if here not in legs or not DEPTHS.keys() >= set(legs):
        raise ValueError(f"no dive can be drawn from {here!r} on {list(legs)!r}")
    frame = _COMPACT if compact else _FULL
    at = list(legs).index(here)
    points = _points(legs, frame)
    return Dive(
        legs=tuple(_leg(legs, i, at, points) for i in range(len(legs))),
        line_done=_path(points[: at + 1]),
        line_ahead=_path(points[at:]),
        water=_path([(points[0][0], frame.top), *points, (points[-1][0], frame.top)]) + " Z",
        surface=frame.top,
        held=held,
        sentence=_sentence([LEG_LABELS[key] for key in legs], at, held),
        width=frame.width,
        height=max(y for _, y in points) + frame.under,
        compact=compact,
    )


def _points(legs: Sequence[str], frame: _Frame) -> list[tuple[int, int]]:
    step = (frame.width - 2 * frame.side) / max(len(legs) - 1, 1)
    deep = frame.bottom - frame.top
    return [
        (round(frame.side + i * step), round(frame.top + deep * DEPTHS[key])) for i, key in enumerate(legs)
    ]


def _path(points: Sequence[tuple[int, int]]) -> str:
    """The points as an SVG path; empty for a single point, which has no line."""
    return "M" + " L".join(f"{x} {y}" for x, y in points) if len(points) > 1 else ""


def _leg(legs: Sequence[str], i: int, at: int, points: Sequence[tuple[int, int]]) -> DiveLeg:
    x, y = points[i]
    anchor, across, down = _label_place(i, points)
    state = "done" if i < at else "here" if i == at else "ahead"
    return DiveLeg(legs[i], LEG_LABELS[legs[i]], state, x, y, x + across, y + down, anchor)


def _label_place(i: int, points: Sequence[tuple[int, int]]) -> tuple[str, int, int]:
    """Anchor and offset in px that keep a label off the line: behind it going down, ahead coming up."""
    before = points[max(i - 1, 0)][1]
    y = points[i][1]
    after = points[min(i + 1, len(points) - 1)][1]
    if i == 0:
        return "start", -4, -12
    if i == len(points) - 1:
        return "end", 4, -12 if y < before else 23
    if before > y and after > y:
        return "middle", 0, -12
    if after > y:
        return "end", 0, 23
    if before > y:
        return "start", 2, 21
    return "middle", 0, 23


def _sentence(labels: Sequence[str], at: int, held: bool) -> str:
    hold = ", on hold" if held else ""
    after = f"next {labels[at + 1]}" if at + 1 < len(labels) else "the end of its passage"
    return f"Now {labels[at]}{hold}, {after}."
