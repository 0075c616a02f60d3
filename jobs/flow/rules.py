"""The passage of a job as one table, and its drawing as a dive. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.web.rules import Dive, Stop, draw
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
OPEN = tuple(leg for leg in Leg if leg not in ENDED)
WORKING = (Leg.STRIPPING, Leg.CLEANING, Leg.REBUILDING, Leg.TESTING)


class Outcome(StrEnum):
    """What a round came to."""

    SERVICED = "serviced"
    FAILED = "failed"
    BEYOND_REPAIR = "beyond repair"
    CONDEMNED = "condemned"
    DECLINED = "declined"


class LineState(StrEnum):
    """What was put on the counter."""

    WHOLE = "whole"
    PART_STRIPPED = "part-stripped"
    PIECES = "pieces"
    PARTS_ONLY = "parts only"


class Contents(StrEnum):
    """Whether there is gas inside; unknown until somebody looked."""

    UNKNOWN = "not looked at"
    NO_GAS = "no gas"
    UNDER_PRESSURE = "under pressure"


class Taint(StrEnum):
    """What has been in or on the gear, so that it is bagged and cleaned with care."""

    NONE = "none known"
    HYGIENE = "hygiene"
    FLOOD = "flood water"


class Where(StrEnum):
    """Where gear is: in the workshop, at an outside station, or gone."""

    HERE = "here"
    OUTSIDE = "outside"
    GONE = "gone"


class HoldKind(StrEnum):
    """Why a job is held."""

    PARTS = "parts"
    CUSTOMER = "customer"
    EVIDENCE = "evidence"
    NOTICE = "notice"
    DOUBT = "doubt"
    THREAD = "thread"
    OTHER = "other"


_ONWARD = frozenset(leg for leg in Leg if leg not in (Leg.CHECKED_IN, *ENDED))
# Which legs a hold keeps a job from entering onward. Evidence also stops going back, closing and any work.
BLOCKS: dict[str, frozenset[Leg]] = {
    HoldKind.PARTS: frozenset({Leg.REBUILDING, Leg.TESTING, Leg.SIGNED_OFF}),
    HoldKind.CUSTOMER: _ONWARD,
    HoldKind.EVIDENCE: frozenset(Leg),
    HoldKind.NOTICE: _ONWARD | {Leg.HANDED_BACK},
    HoldKind.DOUBT: _ONWARD | {Leg.HANDED_BACK},
    HoldKind.THREAD: frozenset({Leg.TESTING, Leg.SIGNED_OFF}),
    HoldKind.OTHER: _ONWARD,
}


@dataclass(frozen=True)
class Held:
    """An open hold as the passage looks at it; of evidence the reason begins with the item that is kept."""

    kind: str
    why: str


@dataclass(frozen=True)
class Facts:
    """What each room knows of a job when it is asked to move: open holds, and lists of refusals, empty when well."""

    holds: tuple[Held, ...] = ()
    flow: tuple[Refusal, ...] = ()
    withdrawn: tuple[Refusal, ...] = ()
    here: tuple[Refusal, ...] = ()
    go_ahead: tuple[Refusal, ...] = ()
    technician: tuple[Refusal, ...] = ()
    emptied: tuple[Refusal, ...] = ()
    as_received: tuple[Refusal, ...] = ()
    stripped: tuple[Refusal, ...] = ()
    tray: tuple[Refusal, ...] = ()
    cleaned: tuple[Refusal, ...] = ()
    rebuilt: tuple[Refusal, ...] = ()
    looked_over: tuple[Refusal, ...] = ()
    tests: tuple[Refusal, ...] = ()
    paired: tuple[Refusal, ...] = ()


_BEGUN = ("flow", "withdrawn", "go_ahead", "here", "technician", "emptied", "as_received")
# The whole passage: to enter a leg, these facts must be well. Sign-off and hand-back ask more in their own rooms.
ASKS: dict[Leg, tuple[str, ...]] = {
    Leg.CLEARED: ("flow", "withdrawn", "go_ahead"),
    Leg.STRIPPING: _BEGUN,
    Leg.CLEANING: (*_BEGUN, "stripped"),
    Leg.REBUILDING: (*_BEGUN, "stripped", "tray", "cleaned"),
    Leg.TESTING: (*_BEGUN, "stripped", "tray", "cleaned", "rebuilt"),
    Leg.SIGNED_OFF: (*_BEGUN, "stripped", "tray", "cleaned", "rebuilt", "looked_over", "tests"),
    Leg.HANDED_BACK: ("here", "paired"),
    Leg.DISPOSED: ("here",),
}


def move_refusals(
    legs: Sequence[str], here: str, to: str, reason: str, facts: Facts, *, closing: bool = False
) -> list[Refusal]:
    """Every reason why a job on `here` may not move to `to`: one leg forward, or back to a working leg with a reason.

    Back as well, nothing is worked on that nobody confirmed empty: it may have been closed before it was looked at.
    `closing` is a sign-off with another outcome than serviced: it may leave any leg between check-in and hand-back.
    From signed off a job may also be disposed of, and going back opens the next round.
    """
    if here in ENDED:
        return [Refusal("job-ended", "This job has ended.")]
    end = (Leg.DISPOSED,) if here == Leg.SIGNED_OFF and to == Leg.DISPOSED else (Leg.HANDED_BACK,)
    order: list[str] = [*legs[:-1], *end]
    if to not in order or here not in order:
        return [Refusal("no-such-leg", f"This job has no leg named {to.replace('_', ' ')}.", "to")]
    ahead = order.index(to) - order.index(here)
    closes = closing and to == Leg.SIGNED_OFF and ahead > 0
    held = held_refusals(facts.holds, to, evidence_only=ahead <= 0 or closes)
    if ahead <= 0:
        return [*held, *_back_refusals(here, to, reason), *(facts.emptied if ahead and to in WORKING else ())]
    if closes:
        return held
    if ahead > 1:
        following = order[order.index(here) + 1].replace("_", " ")
        return [*held, Refusal("not-next", f"The next leg of this job is {following}.", "to")]
    return [*held, *(refusal for name in ASKS[Leg(to)] for refusal in getattr(facts, name))]


def held_refusals(holds: Iterable[Held], to: str, *, evidence_only: bool = False) -> list[Refusal]:
    """The open holds that keep a job from entering a leg."""
    return [
        Refusal(f"held-{each.kind}", f"On hold, {each.kind}: {each.why}{_UNTIL.get(each.kind, '')}")
        for each in holds
        if to in BLOCKS[each.kind] and (each.kind == HoldKind.EVIDENCE or not evidence_only)
    ]


_UNTIL = {
    HoldKind.EVIDENCE.value: " Nobody opens it, pressurises it, works on it or hands it back until the lead and a second person "
    "release it."
}


def _back_refusals(here: str, to: str, reason: str) -> list[Refusal]:
    if to == here:
        return [Refusal("already-there", f"The job is on {here.replace('_', ' ')} already.", "to")]
    found = []
    if to not in WORKING:
        found.append(Refusal("not-a-working-leg", "A job goes back to a working leg only.", "to"))
    if not reason:
        found.append(Refusal("reason-missing", "Say why the job goes back.", "reason"))
    return found


def contents_refusals(present: str, contents: str, leg: str) -> list[Refusal]:
    """What is inside is noted once, by somebody who looked, before a job is cleared or taken up again."""
    found = []
    if present != Contents.UNKNOWN:
        found.append(Refusal("noted-before", f"It was noted before: {present}.", "contents"))
    if contents == Contents.UNKNOWN:
        found.append(Refusal("not-looked", "Look, then say whether there is gas inside.", "contents"))
    if leg not in (Leg.CHECKED_IN, Leg.SIGNED_OFF):
        found.append(Refusal("too-late", "The contents are noted before a job is cleared."))
    return found


def lifting_refusals(
    kind: str, lifted: bool, by: int, second: int | None, *, asked: bool = False
) -> list[Refusal]:
    """A hold is lifted once; evidence by two people; the holds of doubts, notices and supplements go with their answers."""
    found = []
    if asked:
        found.append(Refusal("by-itself", "It goes when the customer's answer is written down."))
    if lifted:
        found.append(Refusal("lifted-before", "This hold was lifted before."))
    if kind in (HoldKind.DOUBT, HoldKind.NOTICE):
        found.append(Refusal("by-itself", f"It goes when the {kind} is answered."))
    if kind == HoldKind.EVIDENCE and second in (None, by):
        found.append(Refusal("second-missing", "Evidence is released by two people.", "second"))
    return found


def custody_refusals(present: str, where: str, why: str, *, corrects: bool) -> list[Refusal]:
    """Gear that has left comes back, and leaves for good outside a hand-back, only as a correction that says why."""
    if corrects:
        return [] if why else [Refusal("reason-missing", "Say what was wrong.", "why")]
    if present == Where.GONE:
        return [
            Refusal("gone", "By the record it has left the workshop; only a correction can say otherwise.")
        ]
    if where == Where.GONE:
        return [Refusal("by-hand-back", "Gear leaves for good by a hand-back or a disposal.", "where")]
    return []


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


def service_cause(job: str, round_n: int) -> str:
    """What the restart of a clock by a round of a job is called."""
    return f"job:{job}:{round_n}"


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


def dive(legs: Sequence[str], here: str, held: bool, compact: bool) -> Dive:
    """A job at `here` on its own legs, drawn as a dive; ValueError for an unknown leg or a `here` not among them."""
    if here not in legs or not DEPTHS.keys() >= set(legs):
        raise ValueError(f"no dive can be drawn from {here!r} on {list(legs)!r}")
    stops = [Stop(key, LEG_LABELS[key], DEPTHS[key]) for key in legs]
    return draw(stops, list(legs).index(here), held=held, compact=compact)
