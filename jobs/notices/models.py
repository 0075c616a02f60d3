"""Doubts: what is doubted, which jobs rest on it, and the answer for each. Nothing that is doubted is edited."""

from uuid import uuid4

from django.db import models

from jobs.bench.models import Attempt
from jobs.flow.models import Job
from jobs.notices.rules import IN_A_PERIOD, About, Became
from jobs.worksheet.models import StepDone
from shop.catalogue.models import PlanVersion
from shop.instruments.models import Instrument
from shop.staff.models import Person
from shop.stock.models import Lot
from shop.workshop.rules import pairs, values


def _only(about: About) -> models.Q:
    """The column of its own kind holds the row, the others hold none."""
    return models.Q(about=about.value, **{f"{each.value}__isnull": each != about for each in About})


_ONE = models.Q()
for _about in About:
    _ONE |= _only(_about)


class Doubt(models.Model):
    """A doubt against one verdict, step, lot or plan version, or an instrument or person in a period; append-only.

    What was done after `until` is not in doubt, though on its last day: the instrument had been adjusted by then.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    about = models.CharField(max_length=12, choices=pairs(About))
    attempt = models.ForeignKey(Attempt, null=True, on_delete=models.PROTECT, related_name="+")
    step = models.ForeignKey(StepDone, null=True, on_delete=models.PROTECT, related_name="+")
    instrument = models.ForeignKey(Instrument, null=True, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, null=True, on_delete=models.PROTECT, related_name="+")
    plan_version = models.ForeignKey(PlanVersion, null=True, on_delete=models.PROTECT, related_name="+")
    from_day = models.DateField(null=True)
    to_day = models.DateField(null=True)
    until = models.DateTimeField(null=True)
    why = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=_ONE, name="doubt_about_one_thing"),
            models.CheckConstraint(
                condition=models.Q(
                    about__in=values(IN_A_PERIOD),
                    from_day__isnull=False,
                    to_day__isnull=False,  # a comparison with nothing is no refusal
                    to_day__gte=models.F("from_day"),
                )
                | models.Q(from_day__isnull=True, to_day__isnull=True)
                & ~models.Q(about__in=values(IN_A_PERIOD)),
                name="doubt_period",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.why}"

    @property
    def cause(self) -> str:
        """What the holds that it puts are marked with."""
        return f"doubt:{self.uid}"

    @property
    def run(self) -> str:
        """What its letters are marked with: one to a customer."""
        return f"doubt:{self.uid.hex}"

    @property
    def label(self) -> str:
        """What is doubted, in words."""
        if self.attempt:
            job = self.attempt.round.job
            asked = job.plan.test(self.attempt.key)
            title = asked.title if asked else self.attempt.key
            return f"the verdict “{self.attempt.verdict}” of {title}, tray {job.number}"
        if self.step:
            job = self.step.round.job
            step = job.plan.step(self.step.key)
            return f"the step “{step.title if step else self.step.key}”, tray {job.number}"
        if self.lot:
            return f"lot {self.lot.number} of part {self.lot.part}"
        if self.plan_version:
            return f"the plan {self.plan_version}"
        period = f"from {self.from_day:%-d %b %Y} to {self.to_day:%-d %b %Y}" if self.from_day else ""
        return f"{self.instrument or self.person} {period}".strip()


class Affected(models.Model):
    """A job whose record rests on what is doubted, found when the doubt was raised; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    doubt = models.ForeignKey(Doubt, on_delete=models.PROTECT, related_name="affected")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="doubts")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["doubt", "job"], name="affected_once")]

    def __str__(self) -> str:
        return f"job {self.job_id} by doubt {self.doubt_id}"


class Answer(models.Model):
    """The answer for one affected job, or for a doubt that touched none; append-only."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    affected = models.OneToOneField(Affected, null=True, on_delete=models.PROTECT, related_name="answer")
    doubt = models.OneToOneField(Doubt, null=True, on_delete=models.PROTECT, related_name="answer")
    became = models.CharField(max_length=12, blank=True, choices=pairs(Became))
    words = models.CharField(max_length=500)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(affected__isnull=False, doubt__isnull=True, became__in=values(Became))
                | models.Q(affected__isnull=True, doubt__isnull=False, became=""),
                name="answer_to_one_thing",
            ),
            models.CheckConstraint(condition=~models.Q(words=""), name="answer_in_words"),
        ]

    def __str__(self) -> str:
        return self.words
