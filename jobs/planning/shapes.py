"""What is sent to assign a job."""

from rest_framework import serializers

from shop.api.shapes import Shape
from shop.staff.models import Person


class AssignIn(Shape):
    technician = serializers.SlugRelatedField(
        slug_field="uid", queryset=Person.objects.filter(is_active=True)
    )
