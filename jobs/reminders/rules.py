"""The ladder of reminders, when letters may go, in which order, and what stands in one. Pure."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from shop.due.rules import Event
from shop.words.rules import day_in
from shop.workshop.rules import Refusal, open_on

# Days from the due date at which a letter may be written; after an outage only the newest rung reached is.
SHIPPED = (-56, -14, 0, 30)
FURTHEST, MOST_RUNGS = 365, 6
ANY_CLOCK = "any-clock"  # the ladder of every clock that has none of its own; keys of clocks have no hyphen
CAME_WITHIN = timedelta(days=60)  # a drop-off after a letter counts as brought by it; our own choice
Rungs = Sequence[int]


@dataclass(frozen=True)
class Ladders:
    """The ladder of each kind of clock, by its key, and that of all others."""

    others: Rungs = SHIPPED
    own: Mapping[str, Rungs] | None = None

    def of(self, key: str) -> Rungs:
        """The ladder of a clock."""
        return (self.own or {}).get(key, self.others)

    @property
    def first(self) -> int:
        """The earliest rung of all."""
        return min(rungs[0] for rungs in (self.others, *(self.own or {}).values()))


def rung(due: date, on: date, rungs: Rungs = SHIPPED) -> int | None:
    """The newest rung that a clock has reached on a day, or None before the first."""
    reached = [days for days in rungs if (on - due).days >= days]
    return reached[-1] if reached else None


def read_rungs(text: str) -> list[int] | None:
    """Days as people type them: -56, -14, 0, +30; None where one is no whole number."""
    words = text.replace(",", " ").replace(";", " ").replace("−", "-").split()
    try:
        return (
            [int(word) for word in words] if all(len(word) < 6 and word.isascii() for word in words) else None
        )
    except ValueError:
        return None


def days_in_words(rungs: Rungs) -> str:
    """A ladder for people: 56 days before, 14 days before, on the day, 30 days after."""
    said = []
    for days in rungs:
        count = f"{abs(days)} day{'' if abs(days) == 1 else 's'}"
        said.append("on the day" if not days else f"{count} {'before' if days < 0 else 'after'}")
    return ", ".join(said)


def ladder_refusals(rungs: Rungs) -> list[Refusal]:
    """Every reason why days make no ladder."""
    found = []
    if not 1 <= len(rungs) <= MOST_RUNGS:
        said = f"A ladder has from 1 to {MOST_RUNGS} rungs, these are {len(rungs)}."
        found.append(Refusal("rungs", said, "rungs"))
    if any(abs(each) > FURTHEST for each in rungs):
        said = f"A rung lies at most {FURTHEST} days before or after the due day."
        found.append(Refusal("too-far", said, "rungs"))
    if any(after <= before for before, after in zip(rungs, rungs[1:], strict=False)):
        found.append(Refusal("not-rising", "Each rung lies later than the one before it.", "rungs"))
    return found


@dataclass(frozen=True)
class Times:
    """When letters go out: not on closed days, and from one full hour of the workshop's zone to before another."""

    weekdays: Collection[int] = ()
    days: Collection[str] = ()
    begin: int = 8
    end: int = 20
    most: int | None = None

    def open_on(self, day: date) -> bool:
        """Whether letters are written on a day."""
        return open_on(day, self.weekdays, self.days)

    def may_go(self, local: datetime) -> bool:
        """Whether letters may go at a time of the workshop's zone, as its clocks show it."""
        return self.open_on(local.date()) and self.begin <= local.hour < self.end

    def next_day(self, after: date) -> date | None:
        """The next day on which letters are written; None where a year has none."""
        days = (after + timedelta(days=n) for n in range(1, 367))
        return next((day for day in days if self.open_on(day)), None)


def times_refusals(begin: int, end: int, weekdays: Collection[int]) -> list[Refusal]:
    """Every reason why letters could never go, or not on each open day."""
    found = []
    if end - begin < 3:
        # Clocks that are put forward leave an hour out, in one zone two.
        said = "Letters need at least three hours a day: let them end later, or begin sooner."
        found.append(Refusal("hours", said, "letters_until"))
    if len(set(weekdays)) == 7:
        said = "One day of the week must be open, or no letter would ever go."
        found.append(Refusal("always-closed", said, "closed_weekdays"))
    return found


@dataclass(frozen=True)
class Due:
    """One clock as the letter names it; `moved` counts how often its day has changed."""

    item: str
    title: str
    due: date
    uid: UUID
    moved: int = 0


_LINES = {
    "en": ("due on {day}", "was due on {day}"),
    "de": ("fällig am {day}", "war fällig am {day}"),
    "fr": ("échéance le {day}", "échéance dépassée depuis le {day}"),
    "es": ("vence el {day}", "venció el {day}"),
}
_DECIDES = {
    "en": "By our records; the maker's instructions and local rules decide.",
    "de": "Nach unseren Unterlagen; es gelten die Anleitung des Herstellers und die örtlichen Vorschriften.",
    "fr": "D'après nos dossiers ; les instructions du fabricant et les règles locales décident.",
    "es": "Según nuestros registros; deciden las instrucciones del fabricante y las normas locales.",
}


def lines(dues: Iterable[Due], on: date, language: str) -> list[str]:
    """What is due, a line each."""
    coming, late = _LINES[language]
    return [
        f"{each.item}: {each.title}, {(late if each.due < on else coming).format(day=day_in(language, each.due))}"
        for each in dues
    ]


def events(dues: Iterable[Due], host: str, language: str) -> list[Event]:
    """The same as days of a calendar; a clock keeps its name there when its day moves."""
    return [
        Event(
            uid=f"{each.uid}@{host}",
            day=each.due,
            summary=f"{each.title}: {each.item}",
            description=_DECIDES[language],
            url="",
            sequence=each.moved,
        )
        for each in dues
    ]
