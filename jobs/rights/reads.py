"""What is a customer's of every table, what stands in the way of erasing it, who looked at it."""

import json
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Model, Q, QuerySet
from django.db.models.functions import Substr

from jobs.batches.models import Upload
from jobs.flow.models import DropOff, Hold, Job, Line
from jobs.flow.reads import bags, newest_custody
from jobs.flow.rules import ENDED, Where
from jobs.matches.reads import matches
from jobs.notices.models import Affected
from jobs.rights.models import Erasure
from jobs.rights.rules import HELD, KINDS, NOTE, Held, names, needles, without
from jobs.signoff.models import SignOff
from jobs.takeout.reads import columns, said
from shop.clocks.models import Restart
from shop.customers.models import Customer
from shop.files.models import Document, File, Photograph
from shop.files.reads import stored
from shop.journal.models import Entry
from shop.journal.reads import Told, told
from shop.journal.rules import ERASED, sha256
from shop.post.models import Letter
from shop.post.rules import State
from shop.sheets.reads import Sheet
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.workshop.reads import now, today, workshop
from shop.workshop.rules import Refusal, merged_refusals

GIVEN_OUT = "data given out"
UNDER_WAY = (State.TAKEN, State.SENDING)
BLANK = ("", ERASED)


def keys_of(customer: Customer) -> list[int]:
    """The customer and those merged into them, lowest key first."""
    return sorted([customer.pk, *customer.merged.values_list("pk", flat=True)])


def model_of(label: str) -> type[Model]:
    """A model by its label."""
    found: type[Model] = apps.get_model(label)
    return found


def through(label: str) -> list[tuple[str, type[Model]]]:
    """The tables between rows of a model and others, each with the name of its key to the model."""
    model = model_of(label)
    rows: list[Any] = [getattr(model, field.name).through for field in model._meta.local_many_to_many]
    return [(model._meta.model_name or "", row) for row in rows]


def theirs(label: str, keys: Sequence[int], *, mentioned: bool = False) -> QuerySet[Any]:
    """The rows of a table that hang on customers, given by key; where asked, those too that only mention them."""
    held, where = HELD[label], Q()
    for path in held.paths + (held.mentions if mentioned else ()):
        where |= Q(**{f"{path}__in": keys})
    return model_of(label)._default_manager.filter(where).order_by("pk")


def uids_of(keys: Sequence[int]) -> dict[str, list[str]]:
    """The uids of their rows that journal, photographs and letters name, by the word that stands before them."""
    labels = ("customers.Customer", "gear.Item", "gear.GearSet", "flow.DropOff", "flow.Job", "flow.Line")
    return {
        kind: [str(uid) for uid in theirs(label, keys).values_list("uid", flat=True)]
        for kind, label in zip(KINDS, labels, strict=True)
    }


def proofs_of(keys: Sequence[int]) -> list[str]:
    """What the proofs of services elsewhere hang on."""
    rows: QuerySet[Restart] = theirs("clocks.Restart", keys)
    return list(rows.filter(cause__startswith="elsewhere:").values_list("cause", flat=True).distinct())


@dataclass(frozen=True)
class Named:
    """Rows that name what is theirs in a text: chains, photographs, documents, letters."""

    entries: QuerySet[Entry]
    photographs: QuerySet[Photograph]
    documents: QuerySet[Document]
    letters: QuerySet[Letter]

    @property
    def files(self) -> QuerySet[File]:
        """The files of their photographs and documents."""
        where = Q(photographs__in=self.photographs.order_by()) | Q(documents__in=self.documents.order_by())
        return File.objects.filter(where).distinct().order_by("pk")


def named(keys: Sequence[int]) -> Named:
    """The rows that name customers, given by key, or what is theirs."""
    uids = uids_of(keys)
    subjects = [f"{kind}:{uid}" for kind, some in uids.items() for uid in some]
    things = [*subjects, *proofs_of(keys)]
    steps = Photograph.objects.filter(subject__startswith="step:").annotate(done_on=Substr("subject", 6, 36))
    where = Q(subject__in=things) | Q(pk__in=steps.filter(done_on__in=uids["job"]).values("pk"))
    return Named(
        Entry.objects.filter(subject__in=subjects).select_related("words").order_by("pk"),
        Photograph.objects.filter(where).select_related("file__gone").order_by("pk"),
        Document.objects.filter(subject__in=things).select_related("file__gone").order_by("pk"),
        Letter.objects.filter(recipient__in=uids["customer"]).order_by("pk"),
    )


def texts_of(keys: Sequence[int], also: str = "") -> list[str]:
    """The texts that name them: names, addresses and numbers of the customers, and what else the lead says, one a line."""
    rows = Customer.objects.filter(pk__in=keys).values_list("name", "email", "phone")
    texts = [*(text for row in rows for text in row), *also.splitlines()]
    return [text.strip() for text in texts if len(text.strip()) >= 3]


def naming(keys: Sequence[int], texts: Sequence[str]) -> Iterator[tuple[str, str, list[int]]]:
    """Of kept columns (table, column) the rows, by key, in which one of the texts stands."""
    for label, held in HELD.items():
        yield from _naming(label, held, theirs(label, keys), texts)


def _naming(
    label: str, held: Held, rows: QuerySet[Any], texts: Sequence[str]
) -> Iterator[tuple[str, str, list[int]]]:
    for column in held.cleaned.split():
        if (label, column) != ("signoff.SignOff", "record"):  # its texts are looked at one by one
            some = rows.exclude(**{f"{column}__in": BLANK}).values_list("pk", column)
            found = [pk for pk, text in some if names(text, texts)]
            if found:
                yield label, column, found


def naming_photographs(keys: Sequence[int], texts: Sequence[str]) -> list[int]:
    """Photographs, by key, whose words name them."""
    rows = named(keys).photographs.exclude(words__in=BLANK).values_list("pk", "words")
    return [pk for pk, words in rows if names(words, texts)]


def twins_of(keys: Sequence[int], texts: Sequence[str]) -> Iterator[tuple[SignOff, dict[str, Any]]]:
    """Sign-offs whose record names them or shows an owner's mark, each with what is left of it."""
    for row in theirs("signoff.SignOff", keys).filter(twin=None).select_related("round__job"):
        record = json.loads(row.record)
        left = without(record, texts)
        if left != record:
            yield row, left


def _told(keys: Sequence[int]) -> Iterator[tuple[str, str, int]]:
    """Where what names them stands in what is kept: where, what, and in how many rows."""
    texts = needles(texts_of(keys))
    for label, column, pks in naming(keys, texts):
        yield HELD[label].called, column, len(pks)
    yield "photographs", "words", len(naming_photographs(keys, texts))
    yield "closed records", "a twin without", sum(1 for _ in twins_of(keys, texts))


def saying(label: str, column: str, texts: Sequence[str]) -> list[int]:
    """The rows of a table by key, whoever they are of, in which one of the texts stands, also as JSON writes it."""
    where = Q(pk__in=[])
    for text in texts:
        for form in {text, json.dumps(text, ensure_ascii=False)[1:-1]}:
            where |= Q(**{f"{column}__icontains": form})
    rows = model_of(label)._default_manager.filter(where).exclude(**{f"{column}__in": BLANK})
    plain = needles([*texts, *(json.dumps(text, ensure_ascii=False)[1:-1] for text in texts)])
    return [pk for pk, said in rows.values_list("pk", column) if names(said, plain)]


def in_the_way(customer: Customer) -> list[Refusal]:
    """Everything that keeps a customer from being erased."""
    keys = keys_of(customer)
    found = merged_refusals(customer)
    own = Q(drop_off__customer__in=keys) | Q(item__owner__in=keys)
    jobs = list(Job.objects.filter(own).exclude(leg__in=ENDED).order_by("number"))
    found += [
        Refusal("open-job", f"Tray {job.number} is not done: it is on {job.leg_label}.") for job in jobs
    ]
    gone = newest_custody().filter(where=Where.GONE).values("line")
    here = Line.objects.filter(drop_off__customer__in=keys).exclude(pk__in=gone).exclude(job__in=jobs)
    found += [
        Refusal("gear-here", f"Bag {line.tag} has not been handed back.")
        for line in here.select_related("drop_off").order_by("pk")
    ]
    visits = Job.objects.exclude(leg__in=ENDED).values("drop_off")
    bagged = bags().values("drop_off")
    others = Q(bringer__in=keys) | Q(payer__in=keys) | Q(collector__in=keys)
    going = DropOff.objects.filter(others).filter(Q(pk__in=visits) | Q(pk__in=bagged))
    found += [
        Refusal("named-on-a-visit", f"Drop-off {row.label} of somebody else still names them.")
        for row in going.exclude(customer__in=keys).order_by("pk")
    ]
    return [*found, *_safety(keys), *_passing(keys)]


def _safety(keys: list[int]) -> list[Refusal]:
    """What of safety waits for an answer that needs its owner."""
    holds = Hold.objects.filter(item__owner__in=keys, lifted_at=None).select_related("item").order_by("pk")
    found = [Refusal("evidence", f"{row.item.label} is kept as evidence.") for row in holds if row.item]
    waiting = Affected.objects.filter(job__drop_off__customer__in=keys, answer=None)
    found += [
        Refusal("open-doubt", f"A doubt about tray {row.job.number} is not answered: {row.doubt.why}")
        for row in waiting.select_related("job", "doubt").order_by("pk")
    ]
    open_ones = matches().filter(item__owner__in=keys, became=None, notice__withdrawal=None).order_by("pk")
    return found + [
        Refusal(
            "open-notice",
            f"Safety notice “{row.notice.title}” matches {row.item.label}: nobody has answered.",
        )
        for row in open_ones
    ]


def _passing(keys: list[int]) -> list[Refusal]:
    """What will be over by itself, or by somebody's hand, and holds their texts until then."""
    recipients = [str(uid) for uid in Customer.objects.filter(pk__in=keys).values_list("uid", flat=True)]
    found = []
    if Letter.objects.filter(recipient__in=recipients, state__in=UNDER_WAY).exists():
        found.append(Refusal("letter-under-way", "A letter to them is being sent just now: try again soon."))
    texts = needles(texts_of(keys))
    return found + [
        Refusal("file-waits", f"The file “{row.batch.name}” names them and waits to be brought in.")
        for row in Upload.objects.select_related("batch").order_by("pk")
        if any(names(cell, texts) for line in Sheet(bytes(row.raw)).rows() for cell in line.cells)
    ]


def looks(customer: Customer) -> list[Told]:
    """Who took a customer's data out, newest first."""
    rows = Entry.objects.filter(subject=f"customer:{customer.uid}", verb=GIVEN_OUT)
    return told(rows.select_related("words").order_by("-pk"))


@dataclass(frozen=True)
class Rights:
    """Where a customer stands: requests, what is in the way, which kept texts name them, who looked."""

    customer: Customer
    erasures: list[Erasure]
    in_the_way: list[Refusal]
    naming: list[dict[str, Any]]
    looks: list[dict[str, Any]]

    @property
    def open(self) -> Erasure | None:
        return next((row for row in self.erasures if row.state == "open"), None)


def rights(customer: Customer) -> Rights:
    """Everything that the page of a customer's rights shows."""
    keys = keys_of(customer)
    return Rights(
        customer,
        list(customer.erasures.select_related("by", "ended_by", "second").order_by("-pk")),
        in_the_way(customer),
        [
            {"where": where, "what": what.replace("_", " "), "rows": rows}
            for where, what, rows in _told(keys)
            if rows
        ],
        [{"at": each.entry.at, "by": each.who} for each in looks(customer)],
    )  # fmt: skip


def waiting() -> QuerySet[Erasure]:
    """Open requests, the first deadline first."""
    return Erasure.objects.filter(ended_at=None).select_related("customer").order_by("asked_on", "pk")


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """Open requests with their deadlines, for whoever answers for them."""
    rows = list(waiting()) if person.may(Can.ANSWER_FOR_RIGHTS) else []
    return "rights/office_panel.html", {"rows": rows, "today": today()}


def put_data(archive: zipfile.ZipFile, customer: Customer) -> dict[str, Any]:
    """Write every row that is the customer's into an archive as JSON, with files and letters beside it; what the journal says.

    Rows of others are named by their keys at most.
    """
    keys = keys_of(customer)
    found = named(keys)
    tables = {label: [row_of(row) for row in theirs(label, keys, mentioned=True)] for label in HELD}
    for label in HELD:
        for to, between in through(label):
            rows = between._default_manager.filter(**{f"{to}__in": theirs(label, keys)}).order_by("pk")
            tables[between._meta.label] = [row_of(row) for row in rows]
    tables |= {
        "files.File": [row_of(row) for row in found.files],
        "files.Photograph": [row_of(row) for row in found.photographs],
        "files.Document": [row_of(row) for row in found.documents],
        "post.Letter": [row_of(row) | {"body": None} for row in found.letters],
        "journal.Entry": [row_of(row) for row in found.entries],
        "journal.Words": [row_of(words) for row in found.entries if (words := getattr(row, "words", None))],
    }
    house = workshop()
    about = {
        "format": 1,
        "note": NOTE,
        "workshop": house.name if house else "",
        "customer": customer.label,
        "at": now().isoformat(timespec="seconds"),
    }
    text = json.dumps(about | {"tables": tables}, indent=1, ensure_ascii=False)
    archive.writestr("data.json", text)
    count = _put_files(archive, found)
    return {"data": sha256(text), "rows": sum(map(len, tables.values())), "files": count}


def row_of(row: Model) -> dict[str, Any]:
    """A row as what JSON can say; bytes as base64."""
    return {field.attname: said(field, getattr(row, field.attname)) for field in columns(type(row))}


def _put_files(archive: zipfile.ZipFile, found: Named) -> int:
    """Photographs, documents and letters, each as a file under its uid; how many. What is lost on the disk is left out."""
    pictures = [(f"files/{row.uid}.jpg", row.file) for row in found.photographs]
    papers = [(f"files/{row.uid}.pdf", row.file) for row in found.documents]
    count = 0
    for name, file in [*pictures, *papers]:
        with suppress(OSError):
            archive.writestr(name, stored(file))
            count += 1
    for letter in found.letters:
        if letter.body:
            archive.writestr(f"letters/{letter.uid}.eml", bytes(letter.body))
            count += 1
    return count
