"""At which level a part is watched at a site."""

from django.db import models

from shop.stock.models import Part


class SiteLevel(models.Model):
    """A part is brought to a site or ordered, `up_to` so many, once no more than its `minimum` may be used there."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="site_levels")
    site = models.CharField(max_length=60)
    minimum = models.PositiveIntegerField(null=True)
    up_to = models.PositiveIntegerField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["part", "site"], name="site_level_once"),
            models.CheckConstraint(
                condition=models.Q(minimum__isnull=True, up_to__isnull=True)
                | models.Q(minimum__isnull=False, up_to__gt=models.F("minimum")),
                name="site_level_above_its_minimum",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part.number} at {self.site}"
