"""What is seen of a whole work sheet, and which jobs are sent on."""

from typing import Any

from rest_framework import serializers

from jobs.bench.shapes import AttemptOut
from jobs.flow.models import Job
from jobs.flow.rules import Leg
from jobs.tray.shapes import TrayPartOut
from jobs.worksheet.shapes import StepOut
from shop.api.shapes import RowField, Shape
from shop.gases.rules import Gas
from shop.gear.shapes import PhotographIn
from shop.workshop.rules import pairs


class OnLegIn(Shape):
    leg = serializers.ChoiceField(choices=[leg.value for leg in Leg], required=False)


class SheetStep(serializers.Serializer[Any]):
    n = serializers.IntegerField()
    key = serializers.CharField()
    leg = serializers.CharField()
    title = serializers.CharField()
    loose_parts = serializers.IntegerField(help_text="How many parts it frees.")
    torque_n_m = serializers.CharField(allow_blank=True)
    when = serializers.CharField(allow_blank=True, help_text="The condition under which it is done.")
    choice = serializers.CharField(allow_blank=True, help_text="Of the steps with one choice, one is done.")
    done = StepOut(allow_null=True)


class SheetPart(serializers.Serializer[Any]):
    key = serializers.CharField()
    name = serializers.CharField()
    count = serializers.IntegerField()
    unit = serializers.CharField(help_text="What the count counts; grease and the like is measured out.")
    renew = serializers.CharField(allow_blank=True, help_text="Number of the stock part that renews it.")
    ended = TrayPartOut(allow_null=True)


class SheetTest(serializers.Serializer[Any]):
    key = serializers.CharField()
    title = serializers.CharField()
    method = serializers.CharField()
    needs = serializers.CharField(allow_blank=True)
    partner = serializers.CharField(allow_blank=True, help_text="The kind of gear it is done together with.")
    of_set = serializers.BooleanField(help_text="Whether it is done once the whole set is rebuilt.")
    attempts = AttemptOut(many=True)
    open = serializers.BooleanField(help_text="Whether a counting final verdict within is still missing.")


class SheetOut(serializers.Serializer[Any]):
    """A job's work sheet as it stands: what is done, what is open."""

    gas = serializers.ChoiceField(choices=pairs(Gas), help_text="What the gear is used with.")
    gas_rule = serializers.CharField(help_text="How that was found, with the threshold.")
    steps = SheetStep(many=True)
    parts = SheetPart(many=True)
    tests = SheetTest(many=True)


class MoveOnIn(Shape):
    jobs = RowField(queryset=Job.objects.all(), many=True, allow_empty=False, label="Jobs to move on")


class ScanIn(Shape):
    lot = serializers.CharField(
        max_length=80,
        label="Label of a lot, scanned",
        help_text="The workshop's code on it, or the maker's lot number where one lot alone has it.",
        style={"attrs": {"autocomplete": "off", "autocapitalize": "characters"}},
    )


class JobPhotographIn(PhotographIn):
    step = serializers.CharField(
        max_length=90, required=False, allow_blank=True, default="", help_text="Only if it shows one step."
    )
