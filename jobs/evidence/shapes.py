"""What is sent and seen of evidence and its custody."""

from typing import Any

from rest_framework import serializers

from jobs.evidence.models import EvidenceCustody
from jobs.flow.models import Hold
from jobs.flow.shapes import LocalTimeField
from shop.api.shapes import Shape, several, uid_of


def _text(label: str, help_text: str = "", most: int = 160, **more: Any) -> serializers.CharField:
    return serializers.CharField(max_length=most, label=label, help_text=help_text, **more)


def _perhaps(label: str, help_text: str = "", most: int = 300, **more: Any) -> serializers.CharField:
    return _text(label, help_text, most, required=False, allow_blank=True, default="", **more)


SEALS = "Their numbers, with commas."
PEOPLE = "Names stand here only: they can be erased when the law asks for it."


class Handing(Shape):
    """Who had it, who has it now, and when it went from one to the other."""

    giver = _text(
        "Who brings or gives it", "Office and capacity: harbour police, an officer; the owner's family."
    )
    holder = _text("Who takes it, and where it lies", "Evidence cupboard; or the authority that it goes to.")
    where = serializers.ChoiceField(
        choices=[("here", "here"), ("outside", "outside, with the authority or another place")],
        label="It is now",
    )
    people = _perhaps("Names of these people", PEOPLE)
    done_at = LocalTimeField(
        required=False, allow_null=True, default=None, help_text="When it happened earlier than now.",
        style={"kind": "datetime-local"}, label="When",
    )  # fmt: skip


class Taking(Shape):
    """Why gear becomes evidence, and how it came."""

    why = _text("Why it is kept as evidence", "No names of people.", 300)
    reference = _perhaps("Authority and its reference", "As its papers say it; no names of people.", 160)
    seals = _perhaps("Seals on it", SEALS)
    found = _perhaps(
        "As it was found", "How each valve and dial stands, damage, what is missing. Nothing is moved to see it.", 2000,
        style={"kind": "textarea"},
    )  # fmt: skip


class EvidenceIn(Taking, Handing):
    """Gear that becomes evidence, and who brought it."""


class EvidenceCustodyIn(Handing):
    intact = _perhaps("Seals seen intact, and new ones put on", SEALS)
    broken = _perhaps("Seals seen broken or gone", SEALS)
    why = _perhaps("Why", "Needed where a seal is broken, gone or new. No names of people.")


class EvidenceCustodyOut(serializers.ModelSerializer[EvidenceCustody]):
    people = serializers.CharField()

    class Meta:
        model = EvidenceCustody
        fields = [
            "uid", "n", "where", "giver", "holder", "people", "intact", "broken", "why", "done_at", "at",
        ]  # fmt: skip


class EvidenceOut(serializers.ModelSerializer[Hold]):
    item = uid_of()
    reference = serializers.CharField(source="evidence.reference")
    found = serializers.CharField(source="evidence.found")

    class Meta:
        model = Hold
        fields = ["uid", "item", "why", "reference", "found", "at", "lifted_at", "lifted_why"]


class OneEvidenceOut(EvidenceOut):
    custody = several(EvidenceCustodyOut)

    class Meta(EvidenceOut.Meta):
        fields = [*EvidenceOut.Meta.fields, "custody"]
