"""Write what is looked at on gear of a kind, and keep what was seen."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Max

from jobs.condition.models import Answer, ConditionList, Look
from jobs.condition.reads import here, newest, versions
from jobs.condition.rules import Given, Piece, Said, look_refusals, looked, settled
from jobs.flow.models import DropOff, Line
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.models import Workshop
from shop.workshop.reads import now
from shop.workshop.rules import Stale, refuse

Sent = Sequence[Mapping[str, Any]]  # each as a checked `ConditionPieceIn` gives it


def write_list(*, by: Person, kind: str, asks: Sequence[str], seen: int) -> ConditionList:
    """What is looked at on gear of a kind from now on; what was answered before keeps its words."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        list(Workshop.objects.select_for_update())
        n = newest(kind).n
        if n != seen:
            raise Stale(n)
        text = "\n".join(" ".join(each.split()) for each in asks)
        row = ConditionList.objects.create(kind=kind, n=n + 1, text=text, at=now(), by=by)
        facts = {"kind": kind, "list": row.n, "asks": row.asks}
        write(subject="workshop", by=str(by.uid), verb="condition list written", facts=facts)
    return row


def look(*, by: Person, drop_off: DropOff, pieces: Sent) -> list[Look]:
    """Keep what was seen of pieces of a drop-off; one of which nothing was looked at is left out."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        read = _read(drop_off, pieces)
        refuse(look_refusals(read))
        gone_through = [(piece, sent) for piece, sent in zip(read, pieces, strict=True) if looked(piece)]
        before = dict(_looks(drop_off))
        made = Look.objects.bulk_create(
            [
                _look(by, sent["line"], sent["version"], before.get(sent["line"].pk, 0) + 1)
                for _, sent in gone_through
            ]
        )
        answers = [
            each for row, (piece, _) in zip(made, gone_through, strict=True) for each in _answers(row, piece)
        ]
        Answer.objects.bulk_create(answers)
        _journal(by, drop_off, made, answers)
    return made


def _looks(drop_off: DropOff) -> Any:
    """Of each line that somebody looked at, how often."""
    rows = Look.objects.filter(line__drop_off=drop_off).order_by().values_list("line")
    return rows.annotate(most=Max("n"))


def _read(drop_off: DropOff, pieces: Sent) -> list[Piece]:
    """What was sent, with the lists as they were shown and with what stands in the way."""
    ours = {line.pk for line in here(drop_off)}
    asked = versions((each["line"].item.model.kind, each["version"]) for each in pieces if each["line"].item)
    named = [each["line"].pk for each in pieces]
    return [
        Piece(
            tag=line.tag,
            asks=asked.get((line.item.model.kind, each["version"]), ()) if line.item else (),
            given=[Given(**answer) for answer in each["answers"]],
            rest_fine=each["rest_fine"],
            itemised=line.item is not None,
            here=line.pk in ours,
            other=line.drop_off_id != drop_off.pk,
            twice=line.pk in named[:i],
        )
        for i, (line, each) in enumerate((each["line"], each) for each in pieces)
    ]


def _look(by: Person, line: Line, version: int, n: int) -> Look:
    assert line.item is not None  # else it was refused
    return Look(line=line, n=n, kind=line.item.model.kind, list_n=version, at=now(), by=by)


def _answers(row: Look, piece: Piece) -> list[Answer]:
    rows = zip(piece.asks, settled(piece), strict=True)
    return [
        Answer(of_look=row, n=i, words=ask, said=each.said, note=each.note)
        for i, (ask, each) in enumerate(rows, 1)
    ]


def _journal(by: Person, drop_off: DropOff, made: Sequence[Look], answers: Sequence[Answer]) -> None:
    """What was answered, in the words that were asked; the notes go with the words that may be erased."""
    named = [f"{row.line.tag}, {row}, {row.kind} list {row.list_n}" for row in made]
    said = {
        said.value: [f"{each.of_look.line.tag} {each.words}" for each in answers if each.said == said]
        for said in Said
    }
    notes = [f"{each.of_look.line.tag} {each}" for each in answers if each.note]
    subject, words = f"drop-off:{drop_off.uid}", {"notes": notes} if notes else {}
    write(subject=subject, by=str(by.uid), verb="looked at", facts={"looks": named} | said, words=words)
