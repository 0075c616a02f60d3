"""What is seen of the day at the counter."""

from rest_framework import serializers

from jobs.bookings.shapes import BookingOut


class CounterRowOut(serializers.Serializer[object]):
    drop_off = serializers.UUIDField(source="drop_off.uid")
    ticket = serializers.CharField(source="drop_off.label")
    customer = serializers.UUIDField(source="customer.uid")
    name = serializers.CharField(source="customer.name")
    phone = serializers.CharField(source="customer.phone", allow_blank=True)
    next = serializers.CharField(source="next.says")


class InWorkOut(CounterRowOut):
    promised_on = serializers.DateField()


class ReadyOut(CounterRowOut):
    ready = serializers.IntegerField(help_text="How many items are ready.")
    since = serializers.DateField()
    asked_on = serializers.DateField(allow_null=True)


class InWorkGroupOut(serializers.Serializer[object]):
    count = serializers.IntegerField()
    rows = InWorkOut(many=True)


class ReadyGroupOut(serializers.Serializer[object]):
    count = serializers.IntegerField()
    rows = ReadyOut(many=True)


class BookedOut(serializers.Serializer[object]):
    count = serializers.IntegerField()
    came = serializers.IntegerField()
    rows = BookingOut(many=True)


class CounterDayOut(serializers.Serializer[object]):
    """Each group says how many there are and shows the first 50."""

    day = serializers.DateField()
    booked = BookedOut()
    late = InWorkGroupOut()
    promised = InWorkGroupOut()
    ready = ReadyGroupOut()
    uncollected = ReadyGroupOut()
    uncollected_after_days = serializers.IntegerField()
    later = InWorkGroupOut()
