"""The words of letters: a workshop's own while they can be used, the shipped ones otherwise."""

import logging
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.conf import settings
from django.http import Http404

from shop.customers.models import Customer
from shop.post.actions import Draft
from shop.post.rules import Purpose
from shop.wording.models import OwnWording
from shop.wording.rules import Key, Values, Worded, Wording, refusals, render
from shop.words.rules import day_in
from shop.workshop.reads import today, workshop
from shop.workshop.rules import Language, Refusal

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Told:
    """One letter in one language as it stands: `own` says whose words go out, `broken` why the own ones do not."""

    key: Key
    language: Language
    wording: Wording
    own: bool
    version: int
    broken: tuple[Refusal, ...] = ()

    @property
    def which(self) -> str:
        """Its name in addresses and in the journal."""
        return which(self.key, self.language)


def which(key: Key, language: Language) -> str:
    """The name of a letter in a language, in addresses and in the journal."""
    return f"{key.replace(' ', '-')}-{language}"


def named(name: str) -> tuple[Key, Language]:
    """The letter and the language of such a name."""
    known = {which(key, language): (key, language) for key in Key for language in Language}
    if name not in known:
        raise Http404
    return known[name]


@cache
def shipped() -> Mapping[tuple[str, str], Wording]:
    """The wordings that come with the house."""
    folder = settings.ROOT / "fixtures" / "wording"
    found = {}
    for language in Language:
        for key, said in tomllib.loads((folder / f"{language}.toml").read_text()).items():
            found[key, language.value] = Wording(said["subject"], said["text"].strip())
    return found


def wordings(keys: Iterable[Key] = Key) -> list[Told]:
    """The letters of these keys in each language, as they stand."""
    keys = list(keys)
    own = {(row.key, row.language): row for row in OwnWording.objects.filter(key__in=keys)}
    return [_told(key, language, own.get((key, language))) for key in keys for language in Language]


def _told(key: Key, language: Language, row: OwnWording | None) -> Told:
    version, ours = (row.version if row else 0), shipped()[key, language]
    if row is None or not row.text:
        return Told(key, language, ours, own=False, version=version)
    if found := refusals(key, row.subject, row.text):
        return Told(key, language, ours, own=False, version=version, broken=tuple(found))
    return Told(key, language, Wording(row.subject, row.text), own=True, version=version)


def one_wording(key: Key, language: Language) -> Told:
    """One of them."""
    return _told(key, language, OwnWording.objects.filter(key=key, language=language).first())


def typed(told: Told) -> Wording:
    """What the form starts with: the own words even where they cannot be used, so that they can be mended."""
    row = OwnWording.objects.filter(key=told.key, language=told.language).exclude(text="").first()
    return Wording(row.subject, row.text) if row else told.wording


def rendered(told: Told, values: Values) -> Worded:
    """A letter as it stands, filled; what cannot be used never stops it."""
    if told.broken:
        log.warning("The own wording of %s cannot be used: the shipped one goes out.", told.which)
    return render(told.language, told.wording, values)


def letters(key: Key, purpose: Purpose, told: Iterable[tuple[Customer, str, Values]]) -> list[Draft]:
    """One letter to each customer, with its run and what fills its places beside their name and ours, in their language."""
    words, house = {each.language.value: each for each in wordings([key])}, workshop()
    always, drafts = {"workshop": house.foot if house else ""}, []
    for customer, run, values in told:
        made = rendered(words[customer.language], {**always, "customer": customer.name, **values})
        draft = Draft(
            recipient=str(customer.uid),
            address=customer.email,
            purpose=purpose,
            run=run,
            subject=made.subject,
            text=made.text,
            html=made.html,
        )
        drafts.append(draft)
    return drafts


def sample(told: Told, wording: Wording) -> Worded:
    """A wording filled with invented values, to be looked at; what it cannot fill stays empty."""
    return render(told.language, wording, sample_values(told.language))


def sample_values(language: Language) -> dict[str, Any]:
    """Somebody and something that do not exist."""
    day = day_in(language, today())
    return {
        "customer": "Rowan Achterberg",
        "items": [f"Tarnwell Hesk (E-00012): Overhaul, {day}", f"Pellmoor Tor (E-00027): Overhaul, {day}"],
        "day": day,
        "answer": f"{settings.BASE_URL}/…",
        "ticket": "D-00031",
        "notice": "Pellmoor PM-7 of 4 May",
        "words": "…",
        "hours": "Mo–Fr 10–18",
        "here": ["Tarnwell Hesk (E-00012)"],
        "workshop": "Aldermouth Gear\n+44 1632 960417",
    }


def office_panel(person: Any) -> tuple[str, dict[str, Any]]:
    """The way to the wordings, and which of the own ones cannot be used."""
    told = wordings()
    return "wording/office_panel.html", {
        "own": sum(each.own for each in told),
        "broken": [each for each in told if each.broken],
    }
