"""Cure quarters, and how long a part may lie in store. Pure.

The day rule: the last day of the quarter counts as the day of manufacture, and a lot is usable on its last day.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from shop.workshop.rules import Refusal, add_months

_QUARTER = re.compile(r"([1-4])Q(\d{2}|\d{4})|([1-4])/(\d{2}|\d{4})")
PIVOT = 70  # a two-digit year from 70 on is of the last century


def quarter_end(text: str) -> date | None:
    """The last day of a cure quarter written 2Q24 (trade use) or 3/94 (ISO 2230:2002, 5.3 c); None if it is neither."""
    found = _QUARTER.fullmatch(text.strip().upper())
    if not found:
        return None
    quarter, year = int(found[1] or found[3]), int(found[2] or found[4])
    if year < 100:
        year += 1900 if year >= PIVOT else 2000
    if not 1950 <= year <= 2200:
        return None
    month, day = {1: (3, 31), 2: (6, 30), 3: (9, 30), 4: (12, 31)}[quarter]
    return date(year, month, day)


@dataclass(frozen=True)
class LifeRule:
    """A published rule: how long seals of these materials may lie in store. `months` None: without limit.

    `extension_months`: so much longer after an inspection, once; 0 where the rule knows none.
    """

    key: str
    document: str
    materials: tuple[str, ...]
    months: int | None
    extension_months: int = 0
    status: str = "read on a secondary page"

    @property
    def source(self) -> str:
        """How a page and a record name it."""
        return f"{self.document}: {', '.join(self.materials)} ({self.status})"


_ISO = "ISO 2230:2002, clause 4"
_SAE = "SAE AS5316"
# SBR is left out of AS5316: what is printed of it contradicts itself (3 or 15 years).
LIFE_RULES = {
    rule.key: rule
    for rule in (
        LifeRule("iso-2230-a", f"{_ISO}, group A", ("NR", "IR", "AU"), 60, 24),
        LifeRule("iso-2230-b", f"{_ISO}, group B", ("NBR", "HNBR", "CR"), 84, 36),
        LifeRule("iso-2230-c", f"{_ISO}, group C", ("EPDM", "FKM", "VMQ", "FVMQ", "PTFE", "FFKM"), 120, 60),
        LifeRule("as5316-5", _SAE, ("AU", "EU"), 60),
        LifeRule("as5316-15", _SAE, ("NBR", "HNBR", "CR", "ACM"), 180),
        LifeRule("as5316-unlimited", _SAE, ("EPDM", "FKM", "FFKM", "VMQ", "FVMQ", "IIR", "PTFE"), None),
    )
}


def life_refusals(
    rule: LifeRule | None, *, material: str, life_months: int | None, life_source: str
) -> list[Refusal]:
    """Why a life cannot stand so: it needs a rule that says it, one alone, and one that is for the material."""
    if rule is None:
        if life_months is not None and not life_source:
            return [Refusal("life-source", "Say by which rule this life is counted.", "life_source")]
        return []
    found = []
    if life_months is not None or life_source:
        said = "Choose a published rule, or give a life of your own with its rule; not both."
        found.append(Refusal("life-twice", said, "life_rule"))
    if not set(re.split(r"[^A-Z]+", material.upper())) & set(rule.materials):
        said = f"{rule.document} has this life for {', '.join(rule.materials)}; name one of them as the material."
        found.append(Refusal("life-material", said, "material"))
    return found


def extension_refusals(
    rule: LifeRule | None,
    *,
    good_to: date | None,
    use_by: date | None,
    extended: bool,
    of_kit: bool = False,
) -> list[Refusal]:
    """Why the life of a lot may not be extended after an inspection."""
    if rule is None or not rule.extension_months or good_to is None:
        return [Refusal("no-extension", "The rule for the storage life of this part knows no extension.")]
    if of_kit:
        return [Refusal("of-a-kit", "Its pieces came out of a kit, and none lives longer than its kit.")]
    if extended:
        return [Refusal("extended-before", "Its life was extended already; the rule allows it once.")]
    if use_by is not None and use_by <= good_to:
        said = f"The maker's own date, {use_by.isoformat()}, is not extended."
        return [Refusal("maker-date", said)]
    return []


def cure_refusals(text: str, life_months: int | None, on: date) -> list[Refusal]:
    """Why a cure quarter cannot be right: unreadable, not begun yet, or missing where a life is counted from it."""
    if not text and life_months is None:
        return []
    day = quarter_end(text)
    if day is None:
        return [Refusal("cure-date", "Write the cure quarter as 2Q24 or 3/94.", "cured")]
    if day.replace(day=1) > add_months(on, 2).replace(day=1):
        return [Refusal("cure-date", f"The quarter {text} has not begun yet.", "cured")]
    return []


def last_good_day(cured: date | None, life_months: int | None, use_by: date | None = None) -> date | None:
    """The last day on which a lot may be used: by the rule, or the maker's own date if that is sooner.

    None when its life is not limited.
    """
    by_rule = None if life_months is None or cured is None else add_months(cured, life_months)
    return soonest(by_rule, use_by)


def soonest(*days: date | None) -> date | None:
    """The first of the days that are known; None where none is."""
    return min((day for day in days if day is not None), default=None)


def kit_age_refusals(part: str, life_months: int | None, cured: str, good_to: date | None) -> list[Refusal]:
    """Why a kit's piece cannot come into the store: its life is limited, and nothing of the kit says how old it is."""
    if life_months is None or cured or good_to is not None:
        return []
    said = f"{part} has a storage life, and this lot neither cure quarter nor last day: nothing says how old it is."
    return [Refusal("age-unknown", said)]


def rule_words(rules: Iterable[LifeRule]) -> list[tuple[str, str]]:
    """The published rules to choose from, each with its figure."""
    return [(rule.key, f"{rule.source}: {_years(rule)}") for rule in rules]


def _years(rule: LifeRule) -> str:
    if rule.months is None:
        return "without limit"
    more = f" and {rule.extension_months // 12} more after inspection" if rule.extension_months else ""
    return f"{rule.months // 12} years{more}"
