"""What is sent and seen of a hand-back."""

from rest_framework import serializers

from jobs.handback.models import Asked, Disposal, HandBack
from shop.api.shapes import Shape, uid_of


class HandBackIn(Shape):
    collector = serializers.CharField(max_length=160, help_text="The person who takes it along.")
    items = serializers.ListField(
        child=serializers.CharField(max_length=80), max_length=60, help_text="Item numbers as scanned."
    )
    acknowledged = serializers.BooleanField(
        default=False, label="The collector acknowledges “do not dive” for what was not serviced"
    )

    apart = serializers.CharField(
        max_length=300,
        required=False,
        allow_blank=True,
        default="",
        label="Why a set goes apart",
        help_text="Only when the rest of it stays.",
    )


class HandBackPageIn(HandBackIn):
    """The page's way: scanned numbers with spaces or lines between."""

    items = serializers.CharField(  # type: ignore[assignment]  # a list in the API, one text on the page
        max_length=1200,
        label="Items, scanned",
        help_text="One number after another.",
        style={"kind": "textarea"},
    )

    def validate_items(self, text: str) -> list[str]:
        return text.replace(",", " ").split()


class HandBackOut(serializers.ModelSerializer[HandBack]):
    drop_off = uid_of()
    jobs = uid_of(many=True)
    lines = uid_of(many=True)

    class Meta:
        model = HandBack
        fields = ["uid", "drop_off", "jobs", "lines", "collector", "acknowledged", "at"]


class AskIn(Shape):
    how = serializers.ChoiceField(
        choices=[Asked.EMAIL, Asked.LETTER, Asked.TELEPHONE], label="How", style={"kind": "radio"}
    )


class AskedOut(serializers.ModelSerializer[Asked]):
    drop_off = uid_of()

    class Meta:
        model = Asked
        fields = ["uid", "drop_off", "how", "on", "at"]


class DisposeIn(Shape):
    how = serializers.CharField(max_length=300, label="What becomes of it")


class DisposalOut(serializers.ModelSerializer[Disposal]):
    job = uid_of()

    class Meta:
        model = Disposal
        fields = ["uid", "job", "how", "at"]
