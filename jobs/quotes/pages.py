"""The pages on which a customer agrees or declines by link; and what the counter puts to them."""

from collections.abc import Mapping
from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.estimates.reads import estimate
from jobs.porthole.pages import ByLink, OfPorthole
from jobs.porthole.reads import pays
from jobs.quotes import actions
from jobs.quotes.models import Quote
from jobs.quotes.reads import Supplement, lines, newest, supplements
from jobs.quotes.shapes import AgreeIn, AnswerMoreIn, QuoteIn
from shop.api.shapes import Nothing
from shop.web.pages import FormPage
from shop.web.shapes import Form
from shop.words.rules import amount_in
from shop.workshop.reads import currency
from shop.workshop.rules import money, priced

UP_TO = "We charge what is really done and used, never more than you agree to."


class Agreeing(ByLink):
    """The base of an answer by link. What stood on the page goes along unseen, so that nobody agrees to something else."""

    def carried(self) -> Mapping[str, int]:
        """What stands on the page now."""
        raise NotImplementedError

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, carried = super().form(*args, **kwargs), self.carried()
        form.fields = [each for each in form.fields if each.name not in carried]
        form.hidden = [{"name": name, "value": value} for name, value in carried.items()]
        return form


class Agree(Agreeing):
    takes, title, button, template = AgreeIn, "Your go-ahead", "Send the answer", "quotes/agree.html"
    lead = UP_TO

    def quote(self) -> Quote:
        found = newest(self.drop_off)
        if found is None or not pays(self.drop_off):
            raise Http404
        return found

    def carried(self) -> Mapping[str, int]:
        return {"seen": self.quote().n}

    def context(self, **kwargs: Any) -> dict[str, Any]:
        quote, found = self.quote(), estimate(self.drop_off)
        return {
            "quote": quote,
            "amount": amount_in(self.language, quote.amount, quote.currency),
            "stands": not quote.became and found.price <= quote.amount,
            "lines": list(lines(found, self.language)),
            "inclusive": found.terms.inclusive,
            "secret": self.secret,
        }

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.answer_quote(link=self.link, drop_off=self.drop_off, **data)
        return self.back()


class AnswerMore(Agreeing):
    takes, title, button, template = AnswerMoreIn, "More was found", "Send the answer", "quotes/more.html"
    lead = UP_TO

    def supplement(self) -> Supplement:
        for each in supplements(self.drop_off, estimate(self.drop_off)):
            if each.n == self.kwargs["n"]:
                return each
        raise Http404

    def carried(self) -> Mapping[str, int]:
        asked = self.supplement()
        return {"seen": asked.charge.version, "agreed": asked.agreed}

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"asked": self.supplement(), "secret": self.secret}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        asked = self.supplement()
        actions.answer_supplement_by_link(drop_off=self.drop_off, charge=asked.charge, n=asked.n, **data)
        return self.back()


class PutQuote(OfPorthole):
    takes, title, button = QuoteIn, "Ask for the go-ahead by link", "Write the letter"
    lead = "A letter brings the customer a link under which they agree or decline. What was put to them before is withdrawn."

    def start(self) -> Mapping[str, Any]:
        found = estimate(self.drop_off())
        return {"amount": money(found.to_ask, found.currency)}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.fields[0].unit = currency()
        form.keep = ""  # an amount typed before the price changed must not come back over the new one
        return form

    def about(self) -> str:
        found = estimate(self.drop_off())
        return f"{super().about()}. The plans come to {priced(found.price, found.currency)}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.put_quote(by=self.by, drop_off=self.drop_off(), **data)
        return reverse("drop_off", args=[self.kwargs["uid"]])


class WithdrawQuote(FormPage):
    takes, title, room, button = Nothing, "Take it back", "counter", "Take it back"
    lead = "The customer can agree to this amount no more. A go-ahead that they gave stands."

    def quote(self) -> Quote:
        rows = Quote.objects.select_related("drop_off__customer__merged_into")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.quote().drop_off.uid])

    def about(self) -> str:
        row = self.quote()
        return f"{row.drop_off.label}: {priced(row.amount, row.currency)}"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.withdraw_quote(by=self.by, quote=self.quote())
        return self.back()


urlpatterns = [
    path("porthole/<slug:secret>/go-ahead", Agree.as_view(), name="agree_by_link"),
    path("porthole/<slug:secret>/more/<int:n>", AnswerMore.as_view(), name="answer_more"),
    path("drop-offs/<uuid:uid>/quote", PutQuote.as_view(), name="put_quote"),
    path("quotes/<uuid:uid>/withdraw", WithdrawQuote.as_view(), name="withdraw_quote"),
]
