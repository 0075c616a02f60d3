"""What is sent and seen of a customer's rights."""

from typing import Any

from rest_framework import serializers

from jobs.rights.models import Erasure
from shop.api.shapes import Shape, uid_of
from shop.staff.shapes import somebody, their_secret
from shop.workshop.reads import today


class ErasureIn(Shape):
    asked_on = serializers.DateField(
        required=False,
        default=today,
        label="Asked on",
        help_text="They must have an answer within a month of it.",
    )
    reason = serializers.CharField(
        max_length=300,
        label="How they asked, and why",
        help_text="How you know that it is they who ask belongs here too.",
    )


class ErasureCloseIn(Shape):
    why = serializers.CharField(
        max_length=300,
        label="Why nobody is erased",
        help_text="Taken back by them, or which duty asks for what is kept. Tell them so within the month.",
    )


class EraseIn(Shape):
    also = serializers.CharField(
        max_length=2000,
        required=False,
        allow_blank=True,
        default="",
        label="What else names them",
        style={"kind": "textarea"},
        help_text="One a line: a nickname, an address, a boat. Kept texts in which one stands are erased whole. It is not kept.",
    )
    second = somebody("Second person", "Erasure takes two people, with the signing secret of the second.")
    second_secret = their_secret()


class ErasureOut(serializers.ModelSerializer[Erasure]):
    customer = uid_of()
    deadline = serializers.DateField()
    state = serializers.CharField()

    class Meta:
        model = Erasure
        fields = ["uid", "customer", "asked_on", "deadline", "reason", "state", "ended_at", "closed_why"]


class StandsIn(serializers.Serializer[Any]):
    code = serializers.CharField()
    detail = serializers.CharField(source="sentence")


class NamingOut(serializers.Serializer[Any]):
    where = serializers.CharField()
    what = serializers.CharField()
    rows = serializers.IntegerField()


class DataLookOut(serializers.Serializer[Any]):
    at = serializers.DateTimeField()
    by = serializers.CharField()


class RightsOut(serializers.Serializer[Any]):
    customer = serializers.UUIDField(source="customer.uid")
    erasures = ErasureOut(many=True)
    in_the_way = StandsIn(many=True)
    naming = NamingOut(many=True)
    looks = DataLookOut(many=True)
