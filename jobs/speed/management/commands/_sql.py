"""Pieces of SQL that make rows by number on either engine."""

from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.urls import reverse

from shop.workshop.reads import today

FROM = 1_000_000  # keys and numbers of what is filled begin after this, so that they need no leading zeros
VISIT = f"{FROM + 1} + (n - {FROM + 1}) / 4"  # the drop-off of a line and its job: four to each
USES = 300  # of a lot
NIL = str(UUID(int=0))


@dataclass(frozen=True)
class Size:
    """How many jobs, and what follows from it."""

    jobs: int

    @property
    def open(self) -> int:
        return min(max(self.jobs // 50, 200), self.jobs // 2)

    @property
    def customers(self) -> int:
        return self.jobs // 2

    @property
    def items(self) -> int:
        return 2 * self.jobs

    @property
    def visits(self) -> int:
        return (self.jobs + 3) // 4

    @property
    def lots(self) -> int:
        return max(1, self.jobs // USES)


def numbers(many: int) -> list[str]:
    """The numbers from which every row is made."""
    return [
        "CREATE TEMPORARY TABLE speed_n (n integer PRIMARY KEY)",
        f"INSERT INTO speed_n WITH RECURSIVE s(n) AS (SELECT {FROM + 1} UNION ALL SELECT n + 1 FROM s "  # noqa: S608 - all of it is written here
        f"WHERE n < {FROM + many}) SELECT n FROM s",
    ]


def insert(table: str, columns: dict[str, str], many: int, where: str = "") -> str:
    """One row for each number from the first to the last; columns are given with the SQL of their value."""
    names = ", ".join(f'"{name}"' for name in columns)
    only = f" AND {where}" if where else ""
    return (
        f"INSERT INTO {table} ({names}) SELECT {', '.join(columns.values())} FROM speed_n "  # noqa: S608 - likewise
        f"WHERE n <= {FROM + many}{only}"
    )


def uid(kind: str, n: str = "n") -> str:
    """The uid, as text, of the row with a number; its kind is one hexadecimal digit."""
    return f"'{kind}0000000-0000-4000-8000-00000' || ({n})"


def key(kind: str) -> str:
    """The same for a column of uids."""
    return f"replace({uid(kind)}, '-', '')" if connection.vendor == "sqlite" else f"({uid(kind)})::uuid"


def day(plus: str) -> str:
    """A day so many days from today."""
    if connection.vendor == "sqlite":
        return f"date('{today()}', ({plus}) || ' days')"
    return f"(DATE '{today()}' + ({plus})::integer)"


def instant(text: str) -> str:
    """An instant in UTC."""
    return f"'{text}'" if connection.vendor == "sqlite" else f"TIMESTAMPTZ '{text}+00:00'"


def sign(n: int) -> str:
    """One sign by its number."""
    return f"{'char' if connection.vendor == 'sqlite' else 'chr'}({n})"


def page(name: str, kind: str) -> str:
    """The address of the page of a row."""
    return "'" + reverse(name, args=[NIL]).replace(NIL, f"' || {uid(kind)} || '") + "'"


def found(
    place: str, kind: str, digit: str, number: str, title: str, note: str, code: str, short: str
) -> dict[str, str]:
    """The columns of a row of the find box: its words as `words_of` of the search room folds them, for plain letters.

    Its place among the rows is given, so that kinds stand mixed as they do when people add them day by day.
    """
    marked = f"{sign(2)} || lower({number}) || {sign(3)}"
    if code:
        marked += f" || ' ' || {sign(2)} || lower({code}) || {sign(3)}"
    return {
        "subject": f"'{kind}:' || {uid(digit)}", "kind": f"'{kind}'", "number": number, "title": title, "note": note,
        "address": page(kind, digit), "id": place,
        "words": f"lower({title} || ' ' || {note}) || ' ' || {marked} || ' ' || {sign(1)} || {short} || {sign(3)}",
    }  # fmt: skip
