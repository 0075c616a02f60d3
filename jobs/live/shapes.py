"""What is sent and seen of a logging."""

from typing import Any

from rest_framework import serializers

from jobs.bench.methods import METHODS
from jobs.bench.shapes import MeasuredIn, why_again
from jobs.live.models import Chunk, Logging
from jobs.live.rules import LONGEST_CHUNK
from shop.api.shapes import Shape, uid_of

HEADINGS = sorted({heading for each in METHODS.values() if each.logged for heading in each.logged.headings})


class LoggingIn(MeasuredIn):
    columns = serializers.ChoiceField(
        choices=HEADINGS,
        required=False,
        allow_blank=True,
        default="",
        label="What the logger sends",
        help_text="The heading of the file that the chunks make; without it, the first that the test takes.",
    )


class ChunkIn(Shape):
    samples = serializers.CharField(
        max_length=LONGEST_CHUNK,
        help_text="Lines of the file, each with one sample, without the heading: 12.0,9.481",
    )


class EndIn(Shape):
    chunks = serializers.IntegerField(
        min_value=0,
        max_value=2**31 - 1,
        required=False,
        allow_null=True,
        default=None,
        help_text="How many were sent, so that none is missing unseen.",
    )
    why_again = why_again()


class ThrowAwayIn(Shape):
    reason = serializers.CharField(
        max_length=200,
        label="Why it is thrown away",
        help_text="It is kept with the job. No names of people.",
    )


class LoggingOut(serializers.ModelSerializer[Logging]):
    job = uid_of()
    instrument = uid_of(allow_null=True)
    attempt = uid_of(allow_null=True)
    chunks = serializers.SerializerMethodField(help_text="How many have come; the next is one more.")

    class Meta:
        model = Logging
        fields = [
            *("uid", "job", "key", "phase", "instrument", "columns", "why_again", "at", "state"),
            *("chunks", "attempt", "reason", "closed_at"),
        ]

    def get_chunks(self, row: Logging) -> int:
        return row.chunks.count()


class ChunkOut(serializers.ModelSerializer[Chunk]):
    class Meta:
        model = Chunk
        fields: Any = ["n", "samples", "at"]
