"""What is looked at when gear is taken in, and what was answered. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.workshop.rules import Refusal

MOST_ASKS = 15  # lines of one list: a short one is gone through
AT_ONCE = 20  # pieces of one form


class Said(StrEnum):
    """What was answered to one line of a list. How gear came is no verdict: fine says only that nothing was seen there."""

    FINE = "fine"
    SEEN = "seen"
    NOT = "not looked at"


@dataclass(frozen=True)
class Given:
    """An answer as it was sent: empty where nothing was chosen; the note says what was seen."""

    said: str = ""
    note: str = ""


@dataclass(frozen=True)
class Piece:
    """A line of a drop-off that was gone through, and what keeps it from being so; `asks` are the lines of its list as they were shown."""

    tag: str
    asks: Sequence[str]
    given: Sequence[Given]
    rest_fine: bool = False
    itemised: bool = True
    here: bool = True
    other: bool = False  # of another drop-off
    twice: bool = False


def settled(piece: Piece) -> list[Given]:
    """An answer to each line of a list: what was left open is fine where somebody said so of the rest, else not looked at."""
    rest = Said.FINE if piece.rest_fine else Said.NOT
    given = [*piece.given, *[Given()] * (len(piece.asks) - len(piece.given))]
    return [Given(each.said or rest.value, each.note) for each in given]


def looked(piece: Piece) -> bool:
    """Whether anything of a piece was looked at."""
    return any(each.said != Said.NOT for each in settled(piece))


def look_refusals(pieces: Sequence[Piece]) -> list[Refusal]:
    """Every reason why what was sent is not kept, with the field that it concerns."""
    found = []
    for i, piece in enumerate(pieces):
        at = f"pieces-{i}-line"
        if piece.twice:
            found.append(Refusal("piece-twice", f"{piece.tag} stands twice in what was sent.", at))
        if piece.other:
            found.append(Refusal("other-drop-off", f"{piece.tag} is of another drop-off.", at))
        elif not piece.here:
            found.append(Refusal("gone", f"By the record {piece.tag} has left the workshop.", at))
        if not piece.itemised:
            said = f"Nobody has said yet which item {piece.tag} is: itemise it, then its list is asked."
            found.append(Refusal("not-itemised", said, at))
        elif not piece.asks:
            found.append(Refusal("nothing-asked", f"There is no such list for {piece.tag}.", at))
        elif len(piece.given) > len(piece.asks):
            said = f"{piece.tag}: the list has {len(piece.asks)} lines, and more were answered."
            found.append(Refusal("too-many-answers", said, at))
        else:
            found += _notes(i, piece)
    if not found and not any(map(looked, pieces)):
        found.append(Refusal("nothing-looked-at", "Nothing was looked at, so there is nothing to keep."))
    return found


def _notes(i: int, piece: Piece) -> list[Refusal]:
    """A note says what was seen; it never stands beside anything else."""
    return [
        Refusal(
            "note-of-nothing",
            f"{piece.tag}, {ask}: a note says what was seen. Choose seen, or take the note away.",
            f"pieces-{i}-answers-{n}-note",
        )
        for n, (ask, each) in enumerate(zip(piece.asks, piece.given, strict=False))
        if each.note and each.said != Said.SEEN
    ]
