"""What is a customer's of every table, and which kept texts name them."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Model, Q, QuerySet
from django.db.models.functions import Substr

from jobs.takeout.reads import columns, said
from jobs.whose.rules import HELD, KINDS, Held, names, needles, with_a_number
from shop.clocks.models import Restart
from shop.customers.models import Customer
from shop.files.models import Document, File, Photograph, Spot
from shop.journal.models import Entry, Words
from shop.journal.rules import ERASED
from shop.post.models import Letter, Suppressed
from shop.post.rules import folded

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
    return {
        kind: [str(uid) for uid in theirs(label, keys).values_list("uid", flat=True)]
        for kind, label in KINDS.items()
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
    suppressed: QuerySet[Suppressed]

    @property
    def files(self) -> QuerySet[File]:
        """The files of their photographs and documents."""
        where = Q(photographs__in=self.photographs.order_by()) | Q(documents__in=self.documents.order_by())
        return File.objects.filter(where).distinct().order_by("pk")


def named(keys: Sequence[int]) -> Named:
    """The rows that name customers, given by key, or what is theirs."""
    uids = uids_of(keys)
    letters = Letter.objects.filter(recipient__in=uids["customer"]).order_by("pk")
    gone = Suppressed.objects.filter(Q(letter__in=letters.order_by()) | Q(address__in=addresses_of(keys)))
    subjects = [f"{kind}:{uid}" for kind, some in uids.items() for uid in some]
    things = [*subjects, *proofs_of(keys)]
    posted = [f"letter:{uid}" for uid in letters.values_list("uid", flat=True)]
    posted += [f"suppressed:{uid}" for uid in gone.values_list("uid", flat=True)]
    steps = Photograph.objects.filter(subject__startswith="step:").annotate(done_on=Substr("subject", 6, 36))
    where = Q(subject__in=things) | Q(pk__in=steps.filter(done_on__in=uids["job"]).values("pk"))
    seen = Photograph.objects.filter(where).order_by().values_list("uid", flat=True)
    posted += [f"photograph:{uid}" for uid in seen]
    return Named(
        Entry.objects.filter(Q(subject__in=[*subjects, *posted]) | _lent(keys))
        .select_related("words")
        .order_by("pk"),
        Photograph.objects.filter(where).select_related("file__gone").order_by("pk"),
        Document.objects.filter(subject__in=things).select_related("file__gone").order_by("pk"),
        letters,
        gone.order_by("pk"),
    )


def _lent(keys: Sequence[int]) -> Q:
    """The rows about what they borrowed, on the chains of the workshop's own gear."""
    where = Q(pk__in=[])
    for loan, item in theirs("lending.Loan", keys).values_list("uid", "item__uid"):
        where |= Q(subject=f"item:{item}", facts__contains=str(loan))
    return where


def addresses_of(keys: Sequence[int]) -> set[str]:
    """Every e-mail address of theirs that is known, also those before and those that they named by a link, folded."""
    rows = Customer.objects.filter(pk__in=keys)
    uids = [str(uid) for uid in rows.values_list("uid", flat=True)]
    known = [
        *rows.values_list("email", flat=True),
        *Letter.objects.filter(recipient__in=uids).values_list("address", flat=True),
        *theirs("answers.NewAddress", keys).values_list("email", flat=True),
    ]
    return {folded(each) for each in known if each}


def texts_of(keys: Sequence[int], also: str = "") -> list[str]:
    """The texts that name them: names, addresses and numbers of the customers, earlier ones too, and what else the lead says, one a line."""
    rows = Customer.objects.filter(pk__in=keys)
    chains = [f"customer:{uid}" for uid in rows.values_list("uid", flat=True)]
    written = Words.objects.filter(entry__subject__in=chains).exclude(text="").values_list("text", flat=True)
    told = [*rows.values(*Customer.TOLD), *(json.loads(each) for each in written)]
    named = [str(each.get(name, "")) for each in told for name in Customer.TOLD]
    lived = [line for each in told for line in with_a_number(each.get("postal", ""))]
    texts = dict.fromkeys([*named, *lived, *sorted(addresses_of(keys)), *also.splitlines()])
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


def pictures(keys: Sequence[int]) -> list[QuerySet[Any]]:
    """Their photographs, and the spots on them."""
    found = named(keys).photographs
    return [found, Spot.objects.filter(photograph__in=found.order_by()).order_by("pk")]


def naming_pictures(keys: Sequence[int], texts: Sequence[str]) -> Iterator[QuerySet[Any]]:
    """Photographs and spots whose words name them."""
    for rows in pictures(keys):
        some = rows.exclude(words__in=BLANK).values_list("pk", "words")
        yield rows.model._default_manager.filter(pk__in=[pk for pk, words in some if names(words, texts)])


def saying(label: str, column: str, texts: Sequence[str]) -> list[int]:
    """The rows of a table by key, whoever they are of, in which one of the texts stands, also as JSON writes it."""
    where = Q(pk__in=[])
    for text in texts:
        for form in {text, json.dumps(text, ensure_ascii=False)[1:-1]}:
            where |= Q(**{f"{column}__icontains": form})
    rows = model_of(label)._default_manager.filter(where).exclude(**{f"{column}__in": BLANK})
    plain = needles([*texts, *(json.dumps(text, ensure_ascii=False)[1:-1] for text in texts)])
    return [pk for pk, said in rows.values_list("pk", column) if names(said, plain)]


def row_of(row: Model) -> dict[str, Any]:
    """A row as what JSON can say; bytes as base64."""
    return {field.attname: said(field, getattr(row, field.attname)) for field in columns(type(row))}
