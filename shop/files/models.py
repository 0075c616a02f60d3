"""Bytes that are stored once, and the photographs and documents that they are."""

from uuid import uuid4

from django.db import models

from shop.files.rules import Drawn, SpotShape, drawn_spot
from shop.workshop.rules import pairs, values


class File(models.Model):
    """Bytes in the data folder under their own SHA-256; append-only, and never changed once stored."""

    sha256 = models.CharField(max_length=64)
    media_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    # None of a document: nothing of it is looked at.
    width_px = models.PositiveIntegerField(null=True)
    height_px = models.PositiveIntegerField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sha256"], name="file_once")]

    def __str__(self) -> str:
        return self.sha256


class Gone(models.Model):
    """The bytes of a file were erased, or are about to be; it goes again if the same bytes are kept anew."""

    file = models.OneToOneField(File, on_delete=models.PROTECT, related_name="gone")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"bytes of {self.file_id} are gone"


class Photograph(models.Model):
    """What a photograph shows, in the words of whoever took it (a note on gear, no names); append-only.

    `subject` reads like the journal's: "item:UID", "line:UID", "job:UID", "step:UID of the job:KEY"; its row is in a
    higher room, and so is the person `by`.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="photographs")
    subject = models.CharField(max_length=140, db_index=True)
    words = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    # Set by a read that knows the subject: what a page says before the words.
    of: str = ""

    def __str__(self) -> str:
        return f"photograph of {self.subject}"

    @property
    def drawn(self) -> list[tuple["Spot", Drawn]]:
        """Its spots with how each is drawn on it."""
        sides = (self.file.width_px or 1, self.file.height_px or 1)
        return [(spot, drawn_spot(spot.shape, spot.x, spot.y, *sides)) for spot in self.spots.all()]

    @property
    def spot_size(self) -> float:
        """How tall the numbers of its spots are, in pixels."""
        return min(self.file.width_px or 1, self.file.height_px or 1) / 12


class Spot(models.Model):
    """Where to look on a photograph, in thousandths of its width and height, with words (a note on gear); append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    photograph = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="spots")
    shape = models.CharField(max_length=6, choices=pairs(SpotShape))
    across = models.PositiveSmallIntegerField()
    down = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(across__lte=1000, down__lte=1000), name="spot_on_the_photograph"
            ),
            models.CheckConstraint(condition=models.Q(shape__in=values(SpotShape)), name="spot_shape_known"),
        ]

    def __str__(self) -> str:
        return f"{self.shape} on {self.photograph_id}"

    @property
    def x(self) -> float:
        """The share of the width, from the left."""
        return self.across / 1000

    @property
    def y(self) -> float:
        """The share of the height, from the top."""
        return self.down / 1000


class Document(models.Model):
    """A PDF as it was sent, to be taken away and never shown here; append-only. `subject` and `by` are as a photograph's."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="documents")
    subject = models.CharField(max_length=140, db_index=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=40)

    # Set by a read that knows the subject: what a page calls it.
    of: str = ""

    def __str__(self) -> str:
        return f"document of {self.subject}"
