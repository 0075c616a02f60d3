"""How the workshop reckons, and its rates of tax."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.urls import path, reverse

from shop.money import actions
from shop.money.models import TaxRate
from shop.money.reads import rates, terms
from shop.money.rules import Rate
from shop.money.shapes import RateIn, ReckoningIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import today
from shop.workshop.rules import money, priced


def rate_choices() -> list[tuple[str, str]]:
    """The rates of today to choose from."""
    return [(name, f"{name}, {rate.percent} %") for name, rate in rates(today()).items()]


class TermsPage(Page):
    template, room = "money/terms.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = TaxRate.objects.order_by("-from_day", "-pk")
        said = [(row, None if row.share is None else Rate(row.name, row.share).percent) for row in rows]
        how = terms()
        coin = "" if how.coin == 1 else priced(how.coin, how.currency)
        may = self.by.may(Can.KEEP_PLANS)
        return {"terms": how, "coin": coin, "rates": said, "may_set": may, "today": today()}


class ChangeTerms(FormPage):
    takes, title, room, cancel = ReckoningIn, "Prices and tax", "office", "reckoning"
    lead = "It counts for estimates from now on. Bills that were made out stay as they are."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"usual": rate_choices()}

    def start(self) -> Mapping[str, Any]:
        how = terms()
        return asdict(how) | {"coin": "" if how.coin == 1 else money(how.coin, how.currency)}

    def seen(self) -> int:
        return terms().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_terms(by=self.by, seen=seen or 0, **data)
        return reverse("reckoning")


class NewRate(FormPage):
    takes, title, room, cancel = RateIn, "Rate of tax", "office", "reckoning"
    lead = "As the law of the place says. A new rate from a later day takes the same name."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_rate(by=self.by, **data)
        return reverse("reckoning")


urlpatterns = [
    path("office/money", TermsPage.as_view(), name="reckoning"),
    path("office/money/reckoning", ChangeTerms.as_view(), name="change_terms"),
    path("office/money/rates/new", NewRate.as_view(), name="new_rate"),
]
