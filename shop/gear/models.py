"""Items: pieces of gear under the workshop's own number, and the marks on them."""

from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django.db import models

from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.gases.rules import percent
from shop.gear.rules import LONGEST, Standing, mark_key
from shop.intervals.rules import Material, Use
from shop.words.reads import said
from shop.workshop.rules import pairs, values


def item_label(number: int) -> str:
    """An item's number as people write it."""
    return f"E-{number:05d}"


FACTS = ("specification", "material", "use", "star", "made_on", "in_service_on")


class Item(models.Model):
    """One piece of gear; `oxygen` is the most oxygen in the gas it is used with, in tenths of a percent, if it was stated.

    Rules for intervals look at what it is made to (`specification`), made of, used for, and at its two first days. `star`: a
    star stands after its test date.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    number = models.PositiveIntegerField(unique=True)
    model = models.ForeignKey(Model, on_delete=models.PROTECT)
    owner = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="items")
    # Always the last one of a chain: a merge turns those that were merged before as well.
    merged_into = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="merged")
    split_from = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="split_off")
    oxygen = models.PositiveSmallIntegerField(null=True)
    specification = models.CharField(max_length=20, blank=True)
    material = models.CharField(max_length=30, blank=True, choices=pairs(Material))
    use = models.CharField(max_length=20, blank=True, choices=pairs(Use))
    star = models.BooleanField(default=False)
    made_on = models.DateField(null=True)
    in_service_on = models.DateField(null=True)
    standing = models.CharField(max_length=15, choices=pairs(Standing), default=Standing.IN_USE.value)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(standing__in=values(Standing)), name="item_standing_known"
            ),
            models.CheckConstraint(
                condition=models.Q(oxygen__isnull=True) | models.Q(oxygen__lte=1000), name="item_oxygen_share"
            ),
            models.CheckConstraint(
                condition=~models.Q(merged_into=models.F("id")), name="item_not_into_itself"
            ),
            models.CheckConstraint(
                condition=~models.Q(split_from=models.F("id")), name="item_not_from_itself"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} {self.model}"

    @property
    def kept(self) -> "Item":
        """The item that is worked with: this one, or the one it was merged into."""
        return self.merged_into or self

    @property
    def label(self) -> str:
        return item_label(self.number)

    @property
    def kind(self) -> str:
        return self.model.kind

    @property
    def facts(self) -> dict[str, Any]:
        """What it is, as rules for intervals ask."""
        return {name: getattr(self, name) for name in FACTS}

    @property
    def used_with(self) -> str:
        """How much oxygen is in the gas it is used with, at most; empty where nobody stated it."""
        return "" if self.oxygen is None else percent(self.oxygen)

    @property
    def title(self) -> str:
        return self.title_in("en")

    def title_in(self, language: str) -> str:
        """What it is in the language of a letter: the kind is translated, the model is a name."""
        kind = said(language, f"{self.model.kind_label[0].upper()}{self.model.kind_label[1:]}")
        return f"{kind}, {self.model}"

    @property
    def marks(self) -> str:
        """The marks on the item in one line."""
        return marked(self.identifiers.all())


class KeyField(models.CharField):  # type: ignore[type-arg]  # at run time it takes no arguments
    """The key of a mark, made of its value whenever the row is written, one by one or many at once."""

    def pre_save(self, model_instance: models.Model, add: bool) -> str:
        key = mark_key(getattr(model_instance, "value", ""))
        setattr(model_instance, self.attname, key)
        return key

    def deconstruct(self) -> Any:
        """In migrations it is a plain column."""
        name, _, args, more = super().deconstruct()
        return name, "django.db.models.CharField", args, more


class Identifier(models.Model):
    """A mark on an item as somebody read it. Equal serials warn, they never block.

    `key` is how it compares with others (`shop.gear.rules`).
    """

    SERIAL, OWNERS_MARK = "serial", "owner's mark"
    READ, UNREADABLE, DISPUTED = "read", "unreadable", "disputed"

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="identifiers")
    kind = models.CharField(max_length=12, choices=[(SERIAL, SERIAL), (OWNERS_MARK, OWNERS_MARK)])
    value = models.CharField(max_length=80, blank=True)
    key = KeyField(max_length=LONGEST, blank=True, default="", editable=False)
    state = models.CharField(
        max_length=10, choices=[(READ, READ), (UNREADABLE, UNREADABLE), (DISPUTED, DISPUTED)], default=READ
    )

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(fields=["value"]),
            models.Index(
                fields=["key", "item"], condition=models.Q(kind="serial"), name="gear_serials_in_order"
            ),
            models.Index(fields=["item"], condition=models.Q(kind="serial"), name="gear_serials_of_items"),
            models.Index(
                fields=["item"],
                condition=models.Q(kind="serial", state__in=["unreadable", "disputed"]),
                name="gear_serials_unsure",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.value}" if self.value else f"{self.kind} {self.state}"

    @classmethod
    def of(cls, item: Item, kind: str, value: str) -> "Identifier":
        """A mark as it was read just now; nothing read means unreadable."""
        return cls(item=item, kind=kind, value=value, state=cls.READ if value else cls.UNREADABLE)


def marked(marks: Iterable[Identifier]) -> str:
    """Marks in one line."""
    return ", ".join(str(mark) for mark in marks) or "no marks"


class GearSet(models.Model):
    """Items that belong together, each from a day to a day, like a regulator with its second stages and gauge."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    name = models.CharField(max_length=120)
    owner = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sets")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name

    @property
    def present(self) -> list[Item]:
        """The items that belong to it now."""
        return [row.item for row in self.members.all() if row.to_day is None]


class Member(models.Model):
    """An item's time in a set; an item is in one set at a time."""

    gear_set = models.ForeignKey(GearSet, on_delete=models.PROTECT, related_name="members")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="memberships")
    from_day = models.DateField()
    to_day = models.DateField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item"], condition=models.Q(to_day__isnull=True), name="member_of_one_set"
            ),
            models.CheckConstraint(
                condition=models.Q(to_day__isnull=True) | models.Q(to_day__gte=models.F("from_day")),
                name="member_from_before_to",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} in set {self.gear_set_id}"
