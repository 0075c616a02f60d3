"""What is asked and seen of the queue and of the board of the day."""

from typing import Any

from rest_framework import serializers

from jobs.flow.models import Custody, Job
from jobs.flow.reads import OpenHold
from jobs.flow.rules import ENDED, Leg
from jobs.flow.shapes import HoldOut, JobOut
from jobs.queue.reads import OpenJob, Row
from jobs.queue.rules import View
from shop.api.shapes import RowField, Shape, uid_of
from shop.gear.models import item_label
from shop.staff.models import Person
from shop.workshop.reads import uid

LEGS = [(leg.value, leg.replace("_", " ")) for leg in Leg if leg not in (*ENDED, Leg.SIGNED_OFF)]


class QueueIn(Shape):
    of = serializers.ChoiceField(
        choices=[view.value for view in View], required=False, allow_blank=True, default=""
    )
    leg = serializers.ChoiceField(choices=LEGS, required=False, allow_blank=True, default="")
    technician = RowField(queryset=Person.objects.all(), required=False, allow_null=True, default=None)


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


def answer(found: dict[str, Any]) -> dict[str, Any]:
    """The queue as `QueueOut` says it, drawn from columns: a serializer would take longer than reading them."""
    return found | {"rows": [_row(row) for row in found["rows"]]}


def _row(row: Row) -> dict[str, Any]:
    return {
        "job": _job(row),
        "can_go_on": row.can_go_on,
        "why": row.place.why,
        "stops": [{"code": stop.code, "detail": stop.sentence} for stop in row.place.stops],
        "set": row.gear_set,
    }


def _job(row: Row) -> dict[str, Any]:
    job = row.job
    return {
        "uid": uid(job.uid),
        "number": job.number,
        "item": uid(job.item),
        "item_number": item_label(job.item_number),
        "drop_off": uid(job.drop_off),
        "plans": [each.uid for each in row.versions],
        "follows": job.follows and uid(job.follows),
        "technician": job.technician and uid(job.technician),
        "promised_on": job.promised_on,
        "promised_why": job.promised_why,
        "legs": row.plan.legs,
        "leg": job.leg,
        "holds": [_hold(job, hold) for hold in row.holds],
        "version": job.version,
    }


def _hold(job: OpenJob, hold: OpenHold) -> dict[str, Any]:
    return {
        "uid": hold.uid,
        "job": None if hold.on_item else uid(job.uid),
        "item": uid(job.item) if hold.on_item else None,
        "kind": hold.kind,
        "why": hold.why,
        "at": hold.at,
        "lifted_at": None,
        "lifted_why": "",
    }


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
