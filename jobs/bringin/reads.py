"""Judge the rows of a file: what each says, whom it names in the workshop, and whom it looks like."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import Any

from django.db.models import QuerySet
from django.db.models.functions import Lower
from rest_framework.exceptions import ValidationError

from jobs.batches.models import Brought
from jobs.batches.rules import CHUNK, What, day_of, key_of, plain
from jobs.bringin.shapes import ROWS
from shop.catalogue.reads import newest
from shop.customers.models import Customer
from shop.gear.models import Identifier, Item
from shop.search.rules import fold, short
from shop.sheets.reads import Sheet
from shop.sheets.rules import Row
from shop.workshop.reads import today


@dataclass(frozen=True)
class Found:
    """What there is to say of a row: why it is bad, or a note that blocks nothing."""

    line: int
    column: str
    said: str
    bad: bool = True


@dataclass(frozen=True)
class Good:
    """A row that can be brought in: what its shape read, with the rows of the workshop that it names."""

    line: int
    data: dict[str, Any]


class Unfit(Exception):
    """A row names nothing that can be found, in this field."""

    def __init__(self, name: str, said: str):
        super().__init__(said)
        self.name, self.said = name, said


@dataclass
class Judge:
    """One pass over a file. `for_good` locks what the rows name and writes no notes."""

    what: What
    columns: list[str]
    mapping: dict[str, str]
    for_good: bool = False
    seen: dict[tuple[str, ...], int] = field(default_factory=dict)
    plans: dict[int, dict[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.shape = ROWS[self.what]()
        places = {column: n for n, column in enumerate(self.columns)}
        self.places = {name: places[column] for name, column in self.mapping.items()}

    def judge(self, rows: list[Row]) -> tuple[list[Good], list[Found]]:
        """The good rows of a chunk, and what there is to say of each row."""
        found: list[Found] = []
        read = [good for row in rows if (good := self._read(row, found))]
        read = self._new_keys(read, found)
        names = Names(self.what, read, self.for_good)
        fit = [good for good in read if self._named(names, good, found)]
        if not self.for_good:
            found += alike(self, fit)
        return fit, found

    def _bad(self, found: list[Found], line: int, name: str, said: str) -> None:
        found.append(Found(line, self.mapping.get(name, ""), said[:300]))

    def _read(self, row: Row, found: list[Found]) -> Good | None:
        """What the row says, by the house's own shapes."""
        before = len(found)
        if len(row.cells) > len(self.columns) and any(row.cells[len(self.columns) :]):
            said = f"It has {len(row.cells)} cells under {len(self.columns)} columns: is a quote missing?"
            self._bad(found, row.line, "", said)
            return None
        cells = {name: row.cells[n].strip() if n < len(row.cells) else "" for name, n in self.places.items()}
        for name, n in self.places.items():
            if n in row.wrong:
                self._bad(found, row.line, name, row.wrong[n])
        if len(found) > before:
            return None
        if self.what is What.SERVICES and not cells.get("months"):
            cells.pop("months", None)
        try:
            return Good(row.line, dict(self.shape.run_validation(cells)))
        except ValidationError as fault:
            detail: Any = fault.detail
            for name, said in detail.items():
                self._bad(found, row.line, name, " ".join(str(each) for each in said))
        return None

    def _new_keys(self, read: list[Good], found: list[Found]) -> list[Good]:
        """Without the rows whose key of the old system came in before."""
        keys = [good.data["old_key"] for good in read if good.data.get("old_key")]
        before = {
            row.old_key: f"It was brought in before, in line {row.line} of {row.batch.name}."
            for row in Brought.objects.filter(what=self.what, old_key__in=keys).select_related("batch")
        }
        kept = []
        for good in read:
            key = good.data.get("old_key", "")
            first = self.seen.setdefault(("key", key), good.line) if key else good.line
            said = before.get(key) or (f"Line {first} has this key too." if first != good.line else "")
            if said:
                self._bad(found, good.line, "old_key", said)
            else:
                kept.append(good)
        return kept

    def _named(self, names: "Names", good: Good, found: list[Found]) -> bool:
        try:
            if self.what is What.ITEMS:
                good.data["to"] = names.owner(good.data)
            elif self.what is What.SERVICES:
                good.data["to"] = names.item(good.data)
                self._clock(good.data)
        except Unfit as fault:
            self._bad(found, good.line, fault.name, fault.said)
            return False
        return True

    def _clock(self, data: dict[str, Any]) -> None:
        """Which clock a past service satisfied: one of the item's, one of its model's plans, or a new one."""
        if data["day"] > today():
            raise Unfit("day", "That day has not come yet.")
        item = data["to"]
        known = self._plans(item.model_id) | {
            said: clock for clock in item.clocks.all() for said in (plain(clock.key), plain(clock.title))
        }
        clock = known.get(plain(data["what"]))
        months = data.get("months") or (clock.months if clock else None)
        if months is None:
            raise Unfit("what", "No plan and no clock of the item is called that, so its months are needed.")
        data["key"] = clock.key if clock else key_of(data["what"])
        data["title"], data["months"] = clock.title if clock else data["what"], months

    def _plans(self, model: int) -> dict[str, Any]:
        if model not in self.plans:
            self.plans[model] = {
                plain(said): promise
                for version in newest([model])
                for promise in reversed(version.plan.promises)
                for said in (promise.key, promise.title)
            }
        return self.plans[model]


class Names:
    """Whom the rows of a chunk name, asked of the database once for all of them."""

    def __init__(self, what: What, read: list[Good], lock: bool):
        self.lock = lock
        if what is What.ITEMS:
            self._of(read, Customer.objects.all(), "owner", "owner_old_key", What.CUSTOMERS)
            said = {good.data["owner"].lower() for good in read if "@" in good.data["owner"]}
            near = Customer.objects.annotate(low=Lower("email")).filter(low__in=said, merged_into=None)
            self.addressed: dict[str, list[Any]] = {}
            for row in self._locked(near):
                self.addressed.setdefault(row.email.lower(), []).append(row)
        elif what is What.SERVICES:
            items = Item.objects.select_related("model").prefetch_related("clocks")
            self._of(read, items, "item", "item_old_key", What.ITEMS)
            serials = {good.data["serial"] for good in read if good.data["serial"]}
            read_off = items.filter(
                identifiers__kind=Identifier.SERIAL, identifiers__value__in=serials, merged_into=None
            )
            marked = read_off.order_by("number").values_list("pk", "identifiers__value", "model__maker")
            rows = {row.pk: row for row in self._locked(items.filter(pk__in={pk for pk, _, _ in marked}))}
            self.serials: dict[tuple[str, str], dict[int, Any]] = {}
            for pk, serial, maker in marked:
                self.serials.setdefault((serial, plain(maker)), {})[pk] = rows[pk]

    def _locked(self, rows: QuerySet[Any]) -> list[Any]:
        rows = rows.order_by("number")
        return list(rows.select_for_update(of=("self",)) if self.lock else rows)

    def _of(self, read: list[Good], rows: QuerySet[Any], by_number: str, by_key: str, of: What) -> None:
        """Rows by our number and by the key of a file that was brought in before; what was merged gives the kept one."""
        numbers = {number(good.data[by_number]) for good in read} - {0}
        keys = {good.data[by_key] for good in read} - {""}
        column = "customer" if of is What.CUSTOMERS else "item"
        keyed = dict(Brought.objects.filter(what=of, old_key__in=keys).values_list("old_key", column))
        found = rows.filter(number__in=numbers) | rows.filter(pk__in=keyed.values())
        pks = {pk: kept or pk for pk, kept in found.values_list("pk", "merged_into")}
        kept = {row.pk: row for row in self._locked(rows.filter(pk__in=pks.values()))}
        self.numbered = {n: kept[pks[pk]] for pk, n in found.values_list("pk", "number")}
        self.keyed = {key: kept[pks[pk]] for key, pk in keyed.items()}

    def owner(self, data: dict[str, Any]) -> Any:
        """The customer whom a row names."""
        if said := data["owner"]:
            if "@" not in said:
                return self._one(self.numbered, number(said, "k"), "owner", f"There is no customer {said}.")
            rows = self.addressed.get(said.lower(), [])
            if len(rows) != 1:
                more = f"Several customers have this address: {', '.join(row.label for row in rows)}."
                raise Unfit("owner", more if rows else "No customer has this address.")
            return rows[0]
        said = data["owner_old_key"]
        return self._one(self.keyed, said, "owner_old_key", "No customer with this key was brought in.")

    def item(self, data: dict[str, Any]) -> Any:
        """The item that a row names."""
        if said := data["item"]:
            return self._one(self.numbered, number(said, "e"), "item", f"There is no item {said}.")
        if said := data["item_old_key"]:
            return self._one(self.keyed, said, "item_old_key", "No item with this key was brought in.")
        if not (data["serial"] and data["maker"]):
            raise Unfit("serial", "It names no item.")
        rows = self.serials.get((data["serial"], plain(data["maker"])), {})
        if len(rows) != 1:
            more = f"Several items have it: {', '.join(row.label for row in rows.values())}."
            raise Unfit("serial", more if rows else "No item of this maker has this serial.")
        return next(iter(rows.values()))

    @staticmethod
    def _one(rows: dict[Any, Any], key: Any, name: str, otherwise: str) -> Any:
        if key not in rows:
            raise Unfit(name, otherwise)
        return rows[key]


def number(said: str, letter: str = "") -> int:
    """The number in K-0012 or E-00012; 0 when it is none, or of another letter."""
    text = short(said)
    plain_number = text[:1] in ("k", "e") and text[1:].isdecimal() and len(text) < 11
    return int(text[1:]) if plain_number and text[0] in (letter or text[0]) else 0


def alike(judge: Judge, fit: list[Good]) -> list[Found]:
    """Whom good rows look like, in the workshop and earlier in the file; it blocks nothing."""
    if judge.what is What.SERVICES:
        return []
    signs = {good.line: _signs(judge.what, good.data) for good in fit}
    there = _there(judge.what, {sign for each in signs.values() for sign in each})
    found = []
    for line, each in signs.items():
        for sign in each:
            first = judge.seen.setdefault(sign, line)
            whom = there.get(sign) or (f"line {first}" if first != line else "")
            if whom:
                column = judge.mapping.get("serial" if judge.what is What.ITEMS else sign[0], "")
                found.append(Found(line, column, f"The same {sign[0]} as {whom}.", bad=False))
    return found


def _signs(what: What, data: dict[str, Any]) -> list[tuple[str, ...]]:
    """By what a row may look like another."""
    if what is What.ITEMS:
        return [("serial and maker", data["serial"], plain(data["maker"]))] if data["serial"] else []
    found: list[tuple[str, ...]] = [("email", data["email"].lower())] if data["email"] else []
    phone = data["phone"]
    return [*found, ("name and phone", fold(data["name"]), phone)] if phone else found


def _there(what: What, signs: set[tuple[str, ...]]) -> dict[tuple[str, ...], str]:
    """Who in the workshop has which of these signs."""
    if what is What.ITEMS:
        marks = Identifier.objects.filter(
            kind=Identifier.SERIAL, value__in={sign[1] for sign in signs}, item__merged_into=None
        ).select_related("item__model")
        return {("serial and maker", m.value, plain(m.item.model.maker)): m.item.label for m in marks}
    rows = Customer.objects.filter(merged_into=None)
    found: dict[tuple[str, ...], str] = {}
    phones = {sign[2] for sign in signs if sign[0] == "name and phone"}
    for row in rows.filter(phone__in=phones).exclude(phone=""):
        found["name and phone", fold(row.name), row.phone] = row.label
    addresses = {sign[1] for sign in signs if sign[0] == "email"}
    for row in rows.annotate(low=Lower("email")).filter(low__in=addresses):
        found["email", row.email.lower()] = row.label
    return found


def chunks(sheet: Sheet, what: What, mapping: dict[str, str]) -> Iterator[list[Row]]:
    """The rows of a file in chunks; past services from the oldest day on, as they would have come in."""
    rows: Iterator[Row] = sheet.rows()
    if what is What.SERVICES:
        place = sheet.columns.index(mapping["day"])

        def day(row: Row) -> tuple[date, int]:
            said = row.cells[place].strip() if place < len(row.cells) else ""
            return day_of(said) or date.max, row.line

        rows = iter(sorted(rows, key=day))
    while chunk := list(islice(rows, CHUNK)):
        yield chunk
