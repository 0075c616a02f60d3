"""What is sent at check-in."""

import re
from typing import Any

from rest_framework import serializers

from jobs.bookings.models import Booking
from jobs.flow.models import Job
from jobs.flow.rules import Contents, LineState, Taint
from jobs.flow.shapes import PRESSURE_UNITS, pressure
from shop.api.shapes import RowField, Shape, several
from shop.catalogue.models import Model, PlanVersion
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.search.reads import matching
from shop.search.rules import Kind

ITEMS = Item.objects.select_related("model", "merged_into")
PLANS = PlanVersion.objects.select_related("model").defer(
    "document"
)  # a plan that was read before is not read again
SOME = 5  # customers that are named when a name fits several


def some(label: str, most: int = 1000, **more: Any) -> serializers.CharField:
    """A text that may be left empty."""
    return serializers.CharField(
        max_length=most, required=False, allow_blank=True, default="", label=label, **more
    )


def row_of(rows: Any, **more: Any) -> Any:
    """A row by its uid that may be left out."""
    return RowField(queryset=rows, required=False, allow_null=True, default=None, **more)


def rows_of(rows: Any) -> Any:
    """Rows by their uids; none when left out."""
    return RowField(queryset=rows, many=True, required=False, default=())


class BagIn(Shape):
    """What is seen and said of a line before anybody knows which item it is."""

    words = some("In the customer's words")
    contents = serializers.ChoiceField(
        choices=[(c.value, c.value) for c in Contents],
        default=Contents.UNKNOWN.value,
        initial=Contents.UNKNOWN.value,
        label="Gas inside",
    )
    condition = some("Condition as seen")
    state = serializers.ChoiceField(
        choices=[(s.value, s.value) for s in LineState],
        default=LineState.WHOLE.value,
        initial=LineState.WHOLE.value,
        label="It came",
    )
    gas = some("Which gas", 40, help_text="As its label says: air, EAN32.")
    pressure = pressure()
    pressure_unit = serializers.ChoiceField(
        choices=PRESSURE_UNITS, required=False, allow_blank=True, default="", label="In"
    )
    taint = serializers.ChoiceField(
        choices=[(t.value, t.value) for t in Taint],
        default=Taint.NONE.value,
        initial=Taint.NONE.value,
        label="To be cleaned apart because of",
    )
    accessories = some("With it")

    def validate(self, attrs: Any) -> Any:
        if bool(attrs["pressure"]) != bool(attrs["pressure_unit"]):
            raise serializers.ValidationError({"pressure_unit": ["A pressure needs its unit."]})
        return attrs


class ItemiseIn(Shape):
    item = RowField(queryset=ITEMS)
    plan = row_of(PLANS, label="Service plan")
    more_plans = rows_of(PLANS)
    follows = row_of(
        Job.objects.select_related("item"),
        label="It came back after",
        help_text="The earlier job, when it came back because of it.",
    )


class LineIn(BagIn):
    item = row_of(ITEMS)
    plan = row_of(PLANS, label="Service plan")
    more_plans = rows_of(PLANS)
    follows = row_of(
        Job.objects.select_related("item"),
        label="It came back after",
        help_text="The earlier job, when it came back because of it.",
    )


class CustomerNumberField(serializers.Field[Any, Any, Any, Any]):
    """Another customer by number, K-0012, or by anything the find box finds only them by; empty for the owner."""

    def to_internal_value(self, data: Any) -> Any:
        text = str(data).strip()
        if not text:
            return None
        if found := re.fullmatch(r"[Kk]?-?0*([0-9]{1,9})", text):
            rows = list(Customer.objects.filter(number=int(found[1])))
        else:
            near = matching(text).filter(kind=Kind.CUSTOMER).order_by("pk")[: SOME + 1]
            uids = [row.subject.partition(":")[2] for row in near]
            rows = list(Customer.objects.filter(uid__in=uids).order_by("number"))
        if not rows:
            raise serializers.ValidationError("No customer has this number or name.")
        if len(rows) > 1:
            names = "; ".join(f"{row.label} {row.name}" for row in rows[:SOME])
            more = "; and more" if len(rows) > SOME else ""
            raise serializers.ValidationError(f"Several are found: {names}{more}. Give the number.")
        return rows[0]


def another(label: str) -> Any:
    """The page's field for another customer than the owner."""
    return CustomerNumberField(
        required=False, allow_null=True, default=None, label=label,
        help_text="Their number, like K-0012, or part of their name; empty for the owner.",
    )  # fmt: skip


class LinesIn(Shape):
    lines = several(LineIn, allow_empty=False, max_length=60)


class CheckInPageIn(LinesIn):
    promised_on = serializers.DateField(label="Promised for")
    wanted_on = serializers.DateField(
        required=False, allow_null=True, default=None, label="Wanted by the customer on"
    )
    bringer = another("Brought by somebody else")
    payer = another("Paid by somebody else")
    collector = another("To be collected by somebody else")
    booking = row_of(Booking.objects.select_related("customer__merged_into"))
    link = serializers.BooleanField(
        default=False,
        label="Write the customer a private link to follow it",
        help_text="By letter, to the e-mail address on record.",
    )


class CheckInIn(CheckInPageIn):
    customer = RowField(queryset=Customer.objects.all())
    bringer = row_of(Customer.objects.all())
    payer = row_of(Customer.objects.all())
    collector = row_of(Customer.objects.all())


class LinePageIn(LineIn):
    """The page's way: a line says its own contents only where they differ from what is said of everything."""

    contents = serializers.ChoiceField(
        choices=[(c.value, c.value) for c in Contents],
        allow_blank=True,
        default="",
        initial=Contents.UNKNOWN.value,
        label="Gas inside",
    )


class CheckInFormIn(CheckInPageIn):
    lines = several(LinePageIn, allow_empty=False, max_length=60)
    inside = serializers.ChoiceField(
        choices=[(c.value, c.value) for c in Contents],
        required=False,
        default=Contents.UNKNOWN.value,
        label="Gas inside",
        help_text="Of each thing below, unless its line says otherwise. Look first.",
        style={"kind": "radio"},
    )

    def validate(self, attrs: Any) -> Any:
        inside = attrs.pop("inside")
        for line in attrs["lines"]:
            line["contents"] = line["contents"] or inside
        return attrs


class MarkIn(Shape):
    owners_mark = some("Owner's mark", 80)
    serial = some("Serial", 80)


class SameIn(BagIn):
    """What holds for every one of many."""

    model = RowField(queryset=Model.objects.all())
    plan = RowField(queryset=PLANS, label="Service plan")


class ManyIn(SameIn):
    marks = several(MarkIn, allow_empty=False, max_length=200)


class ManyPageIn(SameIn):
    """The page's way: one item a line."""

    marks = serializers.CharField(
        max_length=20_000,
        label="Marks, one item a line",
        help_text="The owner's mark; then, after a comma, the serial if it can be read.",
        style={"kind": "textarea"},
    )

    def validate_marks(self, text: str) -> list[dict[str, str]]:
        rows = [row.partition(",") for row in text.splitlines() if row.strip(" ,")]
        marks = [{"owners_mark": mark.strip(), "serial": serial.strip()} for mark, _, serial in rows]
        long = [
            f"Item {n}: a mark has at most 80 signs."
            for n, each in enumerate(marks, start=1)
            if max(map(len, each.values())) > 80
        ]
        if long or not 0 < len(marks) <= 200:
            raise serializers.ValidationError(long or ["One to 200 items at a time."])
        shape = several(MarkIn, data=marks)
        shape.is_valid(raise_exception=True)
        return list(shape.validated_data)


class ManyAtOncePageIn(ManyPageIn):
    promised_on = serializers.DateField(label="Promised for")
