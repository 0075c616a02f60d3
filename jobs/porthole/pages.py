"""The page that a private link opens on a drop-off, without sign-in; and what the counter does about it."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.checkin.reads import ticket
from jobs.flow.models import DropOff
from jobs.porthole import actions
from jobs.porthole.models import Question
from jobs.porthole.reads import (
    View,
    behind,
    drop_off_of,
    links_of,
    pictures_of,
    questions,
    shared_of,
    waiting,
)
from jobs.porthole.shapes import AnswerQuestionIn, AskWorkshopIn
from jobs.signoff.reads import record_paper
from shop.api.shapes import Nothing
from shop.files.models import Photograph
from shop.files.reads import in_place, stored
from shop.files.rules import MEDIA_TYPE
from shop.links.models import Link
from shop.links.pages import Private, PrivateForm
from shop.links.rules import LinkFor
from shop.paper.api import printed
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.workshop.reads import today

MOST_SHOWN, NEWEST = 200, 20


class Behind(Private):
    """Whatever stands behind the link of a drop-off; a number in its address counts within that drop-off alone."""

    purpose = LinkFor.PORTHOLE
    drop_off: DropOff

    def holds(self, link: Link) -> bool:
        found = behind(link)
        if found:
            self.drop_off = found
        return found is not None

    @property
    def view(self) -> View:
        return View(self.drop_off, self.customer)


class Porthole(Behind, PrivateForm):
    """Where the gear is, in plain words: titles, item numbers and days, nothing of who or where or how much."""

    template = "porthole/porthole.html"
    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        view = self.view
        return self.show(
            view=view,
            panels=panels("porthole", view),
            after=panels("porthole_after", view),
            drop_off=self.drop_off,
            secret=self.secret,
            shared=shared_of(self.drop_off),
            questions=self.drop_off.questions.all(),
            day=today(),
        )


class ByLink(Behind, PrivateForm):
    """The base of a form behind the link of a drop-off; what is sent is limited more than what is looked at."""

    def setup(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        super().setup(request, *args, **kwargs)
        if request.method == "POST":
            self.limit = "private_proof"

    def back(self) -> str:
        return reverse("porthole", args=[self.secret])


class AskWorkshop(ByLink):
    takes, title, button = AskWorkshopIn, "Ask the workshop", "Send the question"
    lead = "Plain words, please. A letter tells you when there is an answer; it stands on the page you came from."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.ask(link=self.link, **data)
        return self.back() + "#questions"


class SharedPicture(Behind):
    """A photograph that was shared, by its number in the drop-off."""

    limit = "private_picture"
    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest, n: int, **kwargs: Any) -> HttpResponse:
        row = get_object_or_404(shared_of(self.drop_off), n=n)
        return in_place(stored(row.photograph.file), MEDIA_TYPE)


class Ticket(Behind):
    """The claim ticket, as it was given over the counter; not where somebody else pays or owns some of it."""

    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not self.view.printed:
            raise Http404
        return printed(ticket(self.drop_off.uid))


class ClosedRecord(Behind):
    """The closed record of what lies in a bag of the drop-off, by the number of the bag, for whoever owns it now."""

    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest, n: int, **kwargs: Any) -> HttpResponse:
        for piece in self.view.pieces:
            if piece.line.n == n and piece.sign_off:
                return printed(record_paper(piece.sign_off.uid))
        raise Http404


class OfPorthole(FormPage):
    """The base of what the counter does about the links of a drop-off."""

    room = "counter"

    def drop_off(self) -> DropOff:
        rows = DropOff.objects.select_related("customer__merged_into")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("porthole_of", args=[self.drop_off().uid])

    def about(self) -> str:
        row = self.drop_off()
        return f"{row.label}, {row.customer.kept.name}"


class PortholeOf(OfPorthole):
    """What the customer sees of a drop-off, and which photographs of it they might."""

    template = "porthole/porthole_of.html"
    http_method_names = ["get", "head", "options"]

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        row = self.drop_off()
        seen = set(shared_of(row).values_list("photograph_id", flat=True))
        return self.show(
            drop_off=row,
            customer=row.customer.kept,
            links=links_of(row).order_by("-ends_at"),
            pictures=[(each, each.pk in seen) for each in pictures_of(row)[:MOST_SHOWN]],
            questions=questions().filter(drop_off=row),
            may_keep=self.by.may(Can.KEEP_CUSTOMERS),
        )


class WriteLink(OfPorthole):
    takes, title, button = Nothing, "Write the private link", "Write the letter"
    lead = "A letter goes to the customer's address with a link to the state of this drop-off. No page shows the link."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.write_link(by=self.by, drop_off=self.drop_off())
        return self.back()


class EndLink(OfPorthole):
    takes, title, button = Nothing, "End the private links", "End them all"
    lead = "Every private link to this drop-off ends at once. The next letter about it brings another."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.end_link(by=self.by, drop_off=self.drop_off())
        return self.back()


class OfPicture(FormPage):
    """The base of sharing a photograph and taking it back."""

    takes, room, template = Nothing, "counter", "porthole/share.html"

    def photograph(self) -> Photograph:
        return get_object_or_404(Photograph.objects.select_related("file"), uid=self.kwargs["uid"])

    def back(self) -> str:
        found = drop_off_of(self.photograph())
        return reverse("porthole_of", args=[found.uid]) if found else reverse("counter")

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"photograph": self.photograph()}


class Share(OfPicture):
    title, button = "Share this photograph", "Let the customer see it"
    lead = "Whoever holds a private link of the drop-off sees it with its words. Look that nothing of others is in it."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.share(by=self.by, photograph=self.photograph())
        return self.back()


class TakeBack(OfPicture):
    title, button = "Take this photograph back", "Share it no more"
    lead = "It is gone from the customer's page at once. What somebody has saved stays with them."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_back(by=self.by, photograph=self.photograph())
        return self.back()


class Questions(Page):
    template, room = "porthole/questions.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {
            "waiting": waiting().order_by("pk")[:MOST_SHOWN],
            "newest": questions().exclude(answered_at=None).order_by("-answered_at")[:NEWEST],
            "may_keep": self.by.may(Can.KEEP_CUSTOMERS),
        }


class AnswerQuestion(FormPage):
    takes, title, button, room, cancel = (
        AnswerQuestionIn,
        "Answer a question",
        "Answer it",
        "counter",
        "questions",
    )
    template = "porthole/answer.html"
    lead = "Where the customer has an e-mail address, a letter says that there is an answer."

    def question(self) -> Question:
        return get_object_or_404(questions(), uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"row": self.question()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.answer_question(by=self.by, question=self.question(), **data)
        return self.back()


urlpatterns = [
    path("porthole/<slug:secret>", Porthole.as_view(), name="porthole"),
    path("porthole/<slug:secret>/ask", AskWorkshop.as_view(), name="ask_workshop"),
    path("porthole/<slug:secret>/photographs/<int:n>", SharedPicture.as_view(), name="shared_picture"),
    path("porthole/<slug:secret>/ticket.pdf", Ticket.as_view(), name="ticket_by_link"),
    path("porthole/<slug:secret>/records/<int:n>.pdf", ClosedRecord.as_view(), name="record_by_link"),
    path("drop-offs/<uuid:uid>/porthole", PortholeOf.as_view(), name="porthole_of"),
    path("drop-offs/<uuid:uid>/porthole/link", WriteLink.as_view(), name="write_link"),
    path("drop-offs/<uuid:uid>/porthole/end", EndLink.as_view(), name="end_link"),
    path("photographs/<uuid:uid>/share", Share.as_view(), name="share_photograph"),
    path("photographs/<uuid:uid>/take-back", TakeBack.as_view(), name="take_back_photograph"),
    path("questions", Questions.as_view(), name="questions"),
    path("questions/<uuid:uid>/answer", AnswerQuestion.as_view(), name="answer_question"),
]
