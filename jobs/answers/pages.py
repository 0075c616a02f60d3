"""The pages that a link in a letter opens, without sign-in; and answers at the counter."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.answers import actions
from jobs.answers.actions import NOT_THEIRS
from jobs.answers.models import Answer
from jobs.answers.reads import answers, dues, waiting
from jobs.answers.shapes import SayAddressIn, SayElsewhereIn, SayGoneIn
from jobs.bookings import actions as bookings
from jobs.bookings.pages import chosen, day_choices, item_choices
from jobs.bookings.reads import coming, days, whose
from jobs.bookings.shapes import BookPageIn, CancelByLinkIn, MoveByLinkIn
from shop.api.shapes import Nothing
from shop.clocks.models import Clock
from shop.files.reads import documents, shown
from shop.gear.models import Item
from shop.links.pages import PrivateForm
from shop.links.rules import LinkFor
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.words.reads import said
from shop.words.rules import weekday_in
from shop.workshop.reads import today
from shop.workshop.rules import Refused

MOST_SHOWN = 200


class Answering(PrivateForm):
    """A form under the link of a letter."""

    purpose = LinkFor.ANSWER

    def back(self) -> str:
        return reverse("answer", args=[self.secret])

    def dues(self) -> list[Clock]:
        return dues(self.customer)

    def gear(self, item: Item) -> str:
        """A piece of gear in the customer's language."""
        return f"{item.title_in(self.language)} ({item.label})"

    def booked(self) -> list[tuple[str, str]]:
        """The days that they are booked for."""
        return [(row.day.isoformat(), weekday_in(self.language, row.day)) for row in coming(self.customer)]


class Front(Answering):
    """What is due of a customer's gear, what they answered, and the ways to answer: titles, item numbers and days only."""

    template = "answers/front.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(
            dues=self.dues(),
            day=today(),
            secret=self.secret,
            waiting=waiting().filter(whose(self.customer)).order_by("pk"),
            bookings=coming(self.customer),
            offers=days().a_day > 0,
            wants=self.customer.reminders,
            fewer=self.customer.fewer,
        )

    http_method_names = ["get", "head", "options"]


class SayElsewhere(Answering):
    takes, title, button = SayElsewhereIn, "Serviced elsewhere", "Tell the workshop"
    lead = "Send the proof with it if you can. We look at it before our records change, and write no letter until then."

    def setup(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        super().setup(request, *args, **kwargs)
        if request.method == "POST":
            self.limit = "private_proof"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {
            "clock": [(c.uid, f"{self.gear(c.item)}: {said(self.language, c.title)}") for c in self.dues()]
        }

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        clock = _one_of(self.dues(), data.pop("clock"))
        actions.say_elsewhere(link=self.link, clock=clock, **data)
        return self.back()


class SayGone(Answering):
    takes, title, button = SayGoneIn, "Sold, lost or put away", "Tell the workshop"
    lead = "We write no letter about it any more. Put away means kept dry and not dived with."

    def items(self) -> list[Item]:
        return list({clock.item.pk: clock.item for clock in self.dues()}.values())

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"item": [(item.uid, self.gear(item)) for item in self.items()]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.say_gone(link=self.link, item=_one_of(self.items(), data["item"]), said=data["said"])
        return self.back()


class SayAddress(Answering):
    takes, title, button = SayAddressIn, "Another e-mail address", "Tell the workshop"
    lead = "We call you before we write there, so that nobody else can send your letters elsewhere."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.say_address(link=self.link, **data)
        return self.back()


class BookByLink(Answering):
    takes, title, button = BookPageIn, "Book a drop-off", "Book it"
    lead = "We write no reminder about it until then. A letter confirms it, another comes on the day before."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"day": day_choices(None, self.language), "items": item_choices(self.customer, self.language)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        data["items"] = chosen(self.customer, data["items"])
        bookings.book_by_link(link=self.link, **data)
        return self.back()


class MoveByLink(Answering):
    takes, title, button = MoveByLinkIn, "Book another day", "Move it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"booked": self.booked(), "day": day_choices(None, self.language)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        bookings.move_by_link(link=self.link, **data)
        return self.back()


class CancelByLink(Answering):
    takes, title, button = CancelByLinkIn, "Cancel a drop-off", "Cancel it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"booked": self.booked()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        bookings.cancel_by_link(link=self.link, **data)
        return self.back()


class AskFewer(Answering):
    takes, title, button = Nothing, "Fewer letters", "Only one letter each time"
    lead = (
        "You get one letter for each due date, on the day itself or soon after: none before, no second one."
    )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.ask_fewer(link=self.link)
        return self.back()


class OneClick(Answering):
    """RFC 8058: a POST of `List-Unsubscribe=One-Click` and nothing else ends the reminders; a GET only shows a button."""

    template, limit = "answers/one_click.html", "one_click"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(done=not self.customer.reminders, secret=self.secret)

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if request.POST.get("List-Unsubscribe") != "One-Click":
            return self.show(400, done=False, secret=self.secret)
        actions.ask_none(link=self.link)
        return self.show(done=True, secret=self.secret)


def _one_of(rows: list[Any], uid: UUID) -> Any:
    """The row of a list with this uid; whatever is not in it is refused alike."""
    for row in rows:
        if row.uid == uid:
            return row
    raise Refused([NOT_THEIRS])


class Answers(Page):
    template, room = "answers/answers.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {
            "waiting": waiting().order_by("pk")[:MOST_SHOWN],
            "newest": answers().exclude(pk__in=waiting()).order_by("-pk")[:20],
            "may_keep": self.by.may(Can.KEEP_CUSTOMERS),
        }


class OfAnswer(FormPage):
    """The base of what the counter does with an answer."""

    takes, room, cancel, template = Nothing, "counter", "answers", "answers/settle.html"

    def answer(self) -> Answer:
        return get_object_or_404(answers(), uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        row = self.answer()
        return {
            "row": row,
            "photographs": shown([row.subject]),
            "documents": documents([row.subject]),
        }


class Confirm(OfAnswer):
    title, button = "Confirm an answer", "It is so"
    lead = "Whoever holds the link of the letter said this. Look at the proof; before another address counts, call them."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.confirm(by=self.by, answer=self.answer())
        return self.back()


class SetAside(OfAnswer):
    title, button = "Set an answer aside", "Set it aside"
    lead = "Nothing is changed by it, and letters go on. Do so too when you have dealt with it otherwise."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_aside(by=self.by, answer=self.answer())
        return self.back()


urlpatterns = [
    path("answer/<slug:secret>", Front.as_view(), name="answer"),
    path("answer/<slug:secret>/elsewhere", SayElsewhere.as_view(), name="say_elsewhere"),
    path("answer/<slug:secret>/gone", SayGone.as_view(), name="say_gone"),
    path("answer/<slug:secret>/address", SayAddress.as_view(), name="say_address"),
    path("answer/<slug:secret>/book", BookByLink.as_view(), name="book_by_link"),
    path("answer/<slug:secret>/move", MoveByLink.as_view(), name="move_by_link"),
    path("answer/<slug:secret>/cancel", CancelByLink.as_view(), name="cancel_by_link"),
    path("answer/<slug:secret>/fewer", AskFewer.as_view(), name="ask_fewer"),
    path("answer/<slug:secret>/one-click", OneClick.as_view(), name="one_click"),
    path("answers", Answers.as_view(), name="answers"),
    path("answers/<uuid:uid>/confirm", Confirm.as_view(), name="confirm_answer"),
    path("answers/<uuid:uid>/set-aside", SetAside.as_view(), name="set_answer_aside"),
]
