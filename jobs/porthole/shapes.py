"""What whoever holds a link sends, and what is seen of portholes at the counter."""

from typing import Any

from rest_framework import serializers

from jobs.porthole.models import Question, Shared
from jobs.porthole.rules import MOST_SIGNS
from shop.api.shapes import Shape, several, uid_of

WORDS: dict[str, Any] = {"max_length": MOST_SIGNS, "style": {"kind": "textarea"}}


class AskWorkshopIn(Shape):
    text = serializers.CharField(label="Your question", **WORDS)


class AnswerQuestionIn(Shape):
    answer = serializers.CharField(
        help_text="The customer reads it on the private page of the drop-off, word for word.", **WORDS
    )


class QuestionOut(serializers.ModelSerializer[Question]):
    drop_off = uid_of()

    class Meta:
        model = Question
        fields = ["uid", "drop_off", "text", "at", "answer", "answered_at"]


class SharedOut(serializers.ModelSerializer[Shared]):
    drop_off = uid_of()
    photograph = uid_of()

    class Meta:
        model = Shared
        fields = ["drop_off", "photograph", "n", "at", "ended_at"]


class PortholeOut(serializers.Serializer[Any]):
    """What a customer has of a drop-off by private links; their addresses stand in the letters alone."""

    links = serializers.IntegerField(help_text="How many links open it now.")
    ends_at = serializers.DateTimeField(allow_null=True, help_text="When the last of them ends.")
    shared = several(SharedOut)
    questions = several(QuestionOut)
