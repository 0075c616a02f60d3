"""What is sent to assign a job or to promise a day."""

from rest_framework import serializers

from shop.api.shapes import RowField, Shape
from shop.staff.models import Person


class AssignIn(Shape):
    technician = RowField(queryset=Person.objects.filter(is_active=True))
    condition = serializers.CharField(
        max_length=500,
        required=False,
        allow_blank=True,
        default="",
        label="Condition as it is taken over",
        help_text="Asked for when the gear is apart already.",
    )


class GiveAllIn(Shape):
    technician = RowField(queryset=Person.objects.filter(is_active=True))


class HandOnIn(Shape):
    technician = RowField(queryset=Person.objects.filter(is_active=True), label="Who takes the jobs over")
    condition = serializers.CharField(max_length=500, label="Condition as they are taken over")


class PromiseIn(Shape):
    promised_on = serializers.DateField(label="Promised for")
    why = serializers.CharField(max_length=300, label="Why another day")
