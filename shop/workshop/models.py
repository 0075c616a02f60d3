"""The one row that describes the workshop, and the counters behind human numbers."""

from django.db import models

from shop.workshop.rules import Language, pairs, values

ROUNDINGS = ("per rate", "per line")


class Workshop(models.Model):
    """One row: who we are, in which zone our days begin, in which currency we charge.

    `tests_cylinders`: it may pressure-test cylinders itself; if not, an outside station's certificate is recorded.
    `oxygen_threshold`: above which share of oxygen, in tenths of a percent, gas counts as enriched. `reach`: how customers
    reach us, as letters and claim tickets print it; `hours`: when the counter is open. `places`: whose rules for intervals are followed. `feed`: which address of
    the calendar of what is due counts; none while it is 0. `prices_include_tax`, `tax_rounding` with its source, `usual_rate`,
    our `tax_number` as bills print it, `nudge_days` and `smallest_coin` are the terms that `shop/money` reads. `language`: of letters to whoever said none. `closed_weekdays`
    (Monday is 0) and `closed_days` (as text, ISO 8601) are days without letters; on others letters go out from the hour
    `letters_from` to before `letters_until`, reminders to so many customers a day at most.
    """

    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64)
    currency = models.CharField(max_length=3)
    tests_cylinders = models.BooleanField(default=False)
    oxygen_threshold = models.PositiveSmallIntegerField(default=235)
    reach = models.CharField(max_length=300, blank=True)
    hours = models.CharField(max_length=300, blank=True)
    places = models.JSONField(default=list)
    feed = models.PositiveIntegerField(default=0)
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(
        max_length=8, choices=[(how, how) for how in ROUNDINGS], default=ROUNDINGS[0]
    )
    rounding_source = models.CharField(max_length=200, blank=True)
    usual_rate = models.CharField(max_length=40, blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    nudge_days = models.PositiveIntegerField(null=True)
    smallest_coin = models.PositiveIntegerField(default=1)
    language = models.CharField(max_length=2, choices=pairs(Language), default=Language.EN.value)
    closed_weekdays = models.JSONField(default=list)
    closed_days = models.JSONField(default=list)
    letters_from = models.PositiveIntegerField(default=8)
    letters_until = models.PositiveIntegerField(default=20)
    letters_a_day = models.PositiveIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)
    only = models.BooleanField(default=True, unique=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(only=True), name="workshop_is_one_row"),
            models.CheckConstraint(
                condition=models.Q(oxygen_threshold__range=(210, 400)), name="workshop_oxygen_threshold"
            ),
            models.CheckConstraint(
                condition=models.Q(tax_rounding__in=list(ROUNDINGS)), name="workshop_tax_rounding_known"
            ),
            models.CheckConstraint(condition=models.Q(smallest_coin__gte=1), name="workshop_smallest_coin"),
            models.CheckConstraint(
                condition=models.Q(language__in=values(Language)), name="workshop_language_known"
            ),
            models.CheckConstraint(
                condition=models.Q(letters_from__lt=models.F("letters_until"), letters_until__lte=24),
                name="workshop_letter_hours",
            ),
            models.CheckConstraint(
                condition=models.Q(letters_a_day=None) | models.Q(letters_a_day__gt=0),
                name="workshop_letters_a_day",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def foot(self) -> str:
        """Who writes, at the end of a letter."""
        return "\n".join(filter(None, [self.name, self.reach]))


class Counter(models.Model):
    """The next human number of one kind; numbers are never given twice."""

    kind = models.CharField(max_length=20, unique=True)
    next = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"{self.kind}: {self.next}"
