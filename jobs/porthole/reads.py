"""What a private link shows of a drop-off, and what the counter sees of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from django.db.models import Max, OuterRef, Q, QuerySet, Subquery

from jobs.flow.models import DropOff, Job, Line, Move
from jobs.flow.reads import jobs, newest_custody
from jobs.flow.rules import ENDED, HoldKind, Leg, Outcome, Where
from jobs.matches.reads import open_matches_of
from jobs.porthole.models import Question, Shared
from jobs.porthole.rules import CLOSED, WITH_US, over, state_of, waits_for, warns
from jobs.signoff.models import SignOff
from shop.clocks.models import Clock
from shop.clocks.reads import of_items
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.links.models import Link
from shop.links.reads import living
from shop.links.rules import LinkFor
from shop.words.rules import day_in
from shop.workshop.reads import now


@dataclass(frozen=True)
class Piece:
    """One line of a drop-off as its customer sees it; `job` None while nobody has itemised it; `open`: not ready yet."""

    line: Line
    job: Job | None
    said: list[str]
    warned: bool = False
    waits: str = ""
    since: datetime | None = None
    open: bool = False
    ready: bool = False
    sign_off: SignOff | None = None
    dues: tuple[Clock, ...] = ()


@dataclass(frozen=True)
class View:
    """What a link shows of a drop-off to its customer."""

    drop_off: DropOff
    customer: Customer

    @cached_property
    def pieces(self) -> list[Piece]:
        """Its lines in their order."""
        rows = jobs().filter(drop_off=self.drop_off).prefetch_related("rounds__sign_off")
        newest = Move.objects.filter(job=OuterRef("pk")).order_by("-pk").values("at")[:1]
        of_line = {job.line_id: job for job in rows.annotate(moved_at=Subquery(newest))}
        lines = list(self.drop_off.lines.select_related("item__model", "drop_off").order_by("n"))
        where = dict(newest_custody().filter(line__in=lines).values_list("line_id", "where"))
        kept = {job.pk: job.item.kept.pk for job in of_line.values()}
        done = [job for job in of_line.values() if job.leg == Leg.SIGNED_OFF]
        stopped = open_matches_of({kept[job.pk]: job.outcome == Outcome.SERVICED for job in done})
        dues: dict[int, list[Clock]] = {}
        for clock in of_items(kept[job.pk] for job in of_line.values() if self.owns(job)):
            dues.setdefault(clock.item_id, []).append(clock)
        found = []
        for line in lines:
            job, at = of_line.get(line.pk), where[line.pk]
            due = dues.get(kept[job.pk], ()) if job and job.leg == Leg.HANDED_BACK else ()
            noticed = bool(job and stopped.get(kept[job.pk]))
            found.append(self._piece(line, job, at, noticed, due) if job else bare(line, at))
        return found

    def _piece(self, line: Line, job: Job, where: str, noticed: bool, dues: Iterable[Clock]) -> Piece:
        closed = job.leg in CLOSED
        newest = max(job.rounds.all(), key=lambda row: row.n)
        outcome = newest.outcome if closed else ""
        kinds = set() if job.leg in ENDED else {hold.kind for hold in job.open_holds}
        waits = waits_for(kinds | ({HoldKind.NOTICE.value} if noticed else set()))  # it stops without a hold
        return Piece(
            line,
            job,
            state_of(job.leg, outcome, outside=where == Where.OUTSIDE),
            warned=warns(job.leg, outcome),
            waits=waits,
            since=getattr(job, "moved_at", None) or self.drop_off.at,
            open=not closed or bool(waits),
            ready=job.leg == Leg.SIGNED_OFF and where == Where.HERE and not waits,
            sign_off=getattr(newest, "sign_off", None) if closed and self.owns(job) else None,
            dues=tuple(dues),
        )

    def owns(self, job: Job) -> bool:
        """Whether the customer still is the owner of what a job was about."""
        return job.item.kept.owner_id == self.customer.pk

    @property
    def ready(self) -> list[Piece]:
        """What may be collected."""
        return [each for each in self.pieces if each.ready]

    @property
    def printed(self) -> bool:
        """Whether its ticket is theirs to print: it shows the go-ahead, and the marks that its gear has now."""
        return pays(self.drop_off) and all(self.owns(each.job) for each in self.pieces if each.job)

    @property
    def in_work(self) -> bool:
        """Whether something of it is not ready yet."""
        return any(each.open for each in self.pieces)

    @property
    def promised_on(self) -> date:
        """The day for which the last of it is promised."""
        days = [each.job.promised_on for each in self.pieces if each.job and each.job.leg not in ENDED]
        return max(days, default=self.drop_off.promised_on)


def bare(line: Line, where: str) -> Piece:
    """A line that nobody has itemised."""
    gone = where == Where.GONE
    return Piece(line, None, state_of(Leg.HANDED_BACK, "") if gone else [WITH_US], open=not gone)


def gone_at(drop_off: DropOff) -> datetime | None:
    """When the last of a drop-off left; None while something of it is here or outside."""
    rows = newest_custody().filter(line__drop_off=drop_off)
    found = rows.aggregate(last=Max("at"), here=Max("pk", filter=~Q(where=Where.GONE)))
    last: datetime | None = found["last"]
    return None if found["here"] else last


def behind(link: Link) -> DropOff | None:
    """The drop-off that a link opens; None once it is over, or is not its customer's."""
    rows = DropOff.objects.select_related("customer__merged_into", "payer__merged_into")
    row = rows.filter(uid=link.about).first()
    if row is None or row.customer.kept != link.customer.kept or over(gone_at(row), now()):
        return None
    return row


def pays(drop_off: DropOff) -> bool:
    """Whether the customer pays themselves: what others pay is not theirs to see."""
    return drop_off.payer is None or drop_off.payer.kept == drop_off.customer.kept


def links_of(drop_off: DropOff) -> QuerySet[Link]:
    """The links that open a drop-off now; those of one that is over open nothing."""
    rows = living(drop_off.customer.kept).filter(about=drop_off.uid, purpose=LinkFor.PORTHOLE)
    return rows.none() if over(gone_at(drop_off), now()) else rows


def pictures_of(drop_off: DropOff) -> QuerySet[Photograph]:
    """Every photograph of a drop-off: of its lines as they came, of its jobs, their steps and supplements."""
    uids = list(drop_off.jobs.values_list("uid", flat=True))
    subjects = [f"line:{uid}" for uid in drop_off.lines.values_list("uid", flat=True)]
    subjects += [charge.cause for charge in drop_off.charges.all()]
    found = Q(subject__in=[*subjects, *(f"job:{uid}" for uid in uids)])
    for uid in uids:
        found |= Q(subject__startswith=f"step:{uid}:")
    return Photograph.objects.filter(found, file__gone=None).select_related("file").order_by("-pk")


def drop_off_of(photograph: Photograph) -> DropOff | None:
    """The drop-off that a photograph is of; None for one of an item, an instrument, evidence or anything else."""
    kind, uid, *_ = photograph.subject.split(":")
    path = {"line": "lines", "job": "jobs", "step": "jobs", "charge": "charges"}.get(kind)
    rows = DropOff.objects.filter(**{f"{path}__uid": uid}) if path else DropOff.objects.none()
    return rows.select_related("customer__merged_into").first()


def shared_of(drop_off: DropOff) -> QuerySet[Shared]:
    """The photographs of a drop-off that its customer sees."""
    rows = drop_off.shared.filter(ended_at=None, photograph__file__gone=None)
    return rows.select_related("photograph__file", "drop_off").prefetch_related("photograph__spots")


def questions() -> QuerySet[Question]:
    """Questions with whose they are."""
    return Question.objects.select_related("drop_off__customer__merged_into", "answered_by")


def waiting() -> QuerySet[Question]:
    """Those that nobody has answered."""
    return questions().filter(answered_at=None)


def places(drop_off: DropOff, customer: Customer, answer: str) -> dict[str, str | list[str]]:
    """What fills the places of a letter about a drop-off, beside name and workshop."""
    view = View(drop_off, customer)
    return {
        "day": day_in(customer.language, view.promised_on),
        "items": [named(each, customer.language) for each in view.pieces],
        "answer": answer,
    }


def named(piece: Piece, language: str) -> str:
    """A piece of gear by its title and number, or by its bag."""
    item = piece.job.item if piece.job else piece.line.item
    return f"{item.title_in(language)} ({item.label})" if item else piece.line.tag


def drop_off_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """What the customer has of a drop-off by private links."""
    return "porthole/drop_off_panel.html", {
        "drop_off": drop_off,
        "links": links_of(drop_off).aggregate(Max("ends_at"))["ends_at__max"],
        "shared": shared_of(drop_off).count(),
        "waiting": [row for row in drop_off.questions.all() if row.answered_at is None],
    }
