"""What is asked and seen of the queue and of the board of the day."""

from typing import Any

from rest_framework import serializers

from jobs.flow.models import Custody, Job
from jobs.flow.rules import ENDED, Leg
from jobs.flow.shapes import HoldOut, JobOut
from jobs.queue.rules import View
from shop.api.shapes import Shape, uid_of
from shop.staff.models import Person

LEGS = [(leg.value, leg.replace("_", " ")) for leg in Leg if leg not in (*ENDED, Leg.SIGNED_OFF)]


class QueueIn(Shape):
    of = serializers.ChoiceField(
        choices=[view.value for view in View], required=False, allow_blank=True, default=""
    )
    leg = serializers.ChoiceField(choices=LEGS, required=False, allow_blank=True, default="")
    technician = serializers.SlugRelatedField(
        slug_field="uid", queryset=Person.objects.all(), required=False, allow_null=True, default=None
    )


class StopOut(serializers.Serializer[Any]):
    """Why a job cannot go on just now: a stable code and a sentence."""

    code = serializers.CharField()
    detail = serializers.CharField(source="sentence")


class QueueRow(serializers.Serializer[Any]):
    job = JobOut()
    can_go_on = serializers.BooleanField()
    why = serializers.ListField(
        child=serializers.CharField(), source="place.why", help_text="Why it stands here, in a few words."
    )
    stops = StopOut(many=True, source="place.stops")
    set = serializers.CharField(source="gear_set", allow_blank=True, help_text="The set its item belongs to.")


class QueueOut(serializers.Serializer[Any]):
    """Open jobs in order, what can go on first; at most 200."""

    of = serializers.CharField()
    day = serializers.DateField()
    more = serializers.BooleanField(help_text="Whether there are more than these.")
    rows = QueueRow(many=True)


class BoardJob(serializers.ModelSerializer[Job]):
    item_number = serializers.CharField(source="item.label")
    drop_off = uid_of()
    technician = uid_of(allow_null=True)
    follows = uid_of(allow_null=True)

    class Meta:
        model = Job
        fields = [
            "uid", "number", "item_number", "drop_off", "technician", "follows", "promised_on", "promised_why", "leg",
        ]  # fmt: skip


class BoardDay(serializers.Serializer[Any]):
    day = serializers.DateField()
    jobs = BoardJob(many=True)


class BoardLoad(serializers.Serializer[Any]):
    technician = serializers.UUIDField(source="technician.uid")
    jobs = serializers.IntegerField()
    plan_minutes = serializers.IntegerField(help_text="What the plans of the jobs say, in minutes.")
    open_step_minutes = serializers.IntegerField(
        help_text="What the plans say for the steps that are still open, in minutes."
    )


class BoardWaits(serializers.Serializer[Any]):
    drop_off = serializers.UUIDField(source="drop_off.uid")
    since = serializers.DateTimeField(help_text="When it was dropped off.")
    says = serializers.CharField()


class BoardReady(serializers.Serializer[Any]):
    job = BoardJob()
    since = serializers.DateTimeField()


class BoardAway(serializers.ModelSerializer[Custody]):
    line = uid_of()
    tag = serializers.CharField(source="line.tag")
    since = serializers.DateTimeField(source="at")

    class Meta:
        model = Custody
        fields = ["line", "tag", "holder", "seal", "since"]


class BoardOut(serializers.Serializer[Any]):
    """The board of the day."""

    day = serializers.DateField()
    more = serializers.BooleanField(help_text="Whether only the 500 most urgent open jobs are on it.")
    late = BoardJob(many=True)
    days = BoardDay(many=True)
    technicians = BoardLoad(many=True)
    nobody = BoardJob(many=True, help_text="Jobs that nobody has been given.")
    holds = HoldOut(many=True)
    go_aheads = BoardWaits(many=True, help_text="Drop-offs that wait for a go-ahead.")
    ready = BoardReady(many=True)
    outside = BoardAway(many=True)
    comebacks = BoardJob(many=True)
