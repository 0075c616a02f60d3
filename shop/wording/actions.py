"""Change the wording of a letter; go back to the shipped one."""

from django.db import transaction

from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.models import OwnWording
from shop.wording.reads import Told, one_wording, which
from shop.wording.rules import Key, refusals
from shop.workshop.rules import Language, Refusal, Stale, refuse


def word(*, by: Person, key: Key, language: Language, subject: str, text: str, seen: int) -> Told:
    """Give a letter the workshop's own words in a language, if it stands at the version that was seen."""
    require(by, Can.KEEP_PLANS)
    subject, text = subject.strip(), text.replace("\r\n", "\n").strip()
    with transaction.atomic():
        row = _locked(key, language, seen)
        refuse(refusals(key, subject, text))
        return _kept(by, row, subject, text, "letter worded")


def use_shipped(*, by: Person, key: Key, language: Language, seen: int) -> Told:
    """Go back to the words that come with the house; the journal keeps the own ones."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row = _locked(key, language, seen)
        if not row.text:
            refuse([Refusal("shipped", "The shipped words are used already.")])
        return _kept(by, row, "", "", "shipped words of a letter used again")


def _locked(key: Key, language: Language, seen: int) -> OwnWording:
    OwnWording.objects.get_or_create(key=key, language=language)
    row = OwnWording.objects.select_for_update().get(key=key, language=language)
    if row.version != seen:
        raise Stale(row.version)
    return row


def _kept(by: Person, row: OwnWording, subject: str, text: str, verb: str) -> Told:
    row.subject, row.text, row.version = subject, text, row.version + 1
    row.save()
    key, language = Key(row.key), Language(row.language)
    write(
        subject=f"wording:{which(key, language)}",
        by=str(by.uid),
        verb=verb,
        facts={"letter": row.key, "language": row.language, "version": row.version},
        words={"subject": subject, "text": text},
    )
    return one_wording(key, language)
