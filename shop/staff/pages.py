"""The Office: people, what they may do, and what a lead changes of them."""

import re
from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.journal.reads import history, told
from shop.staff import actions
from shop.staff.models import Authorisation, Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import AuthorisationIn, EndAuthorisationIn, PersonIn, ReachIn, RolesIn
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Form
from shop.workshop.reads import today, workshop


class History(Page):
    """The base of the pages of everything that was journalled about a row, newest first."""

    template, room, slice = "staff/history.html", "counter", 50

    def subjects(self) -> list[str]:
        """The chains that are shown."""
        raise NotImplementedError

    def of(self) -> tuple[str, str]:
        """What it is the history of, and the address of its page."""
        raise NotImplementedError

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows, before = history(self.subjects()).order_by("-pk"), self.request.GET.get("before", "")
        if re.fullmatch(r"[0-9]{1,18}", before):
            rows = rows.filter(pk__lt=int(before))
        found = list(rows[: self.slice + 1])
        shown = found[: self.slice]
        older = shown[-1].pk if len(found) > self.slice else None
        return {"of": self.of(), "entries": told(shown), "older": older, "later": bool(before)}


class Office(Page):
    """The Office: where its pages are."""

    template, room = "staff/office.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"may_see_letters": self.by.may(Can.SEE_LETTERS), "panels": panels("office", self.by)} | {
            "may_assign": self.by.may(Can.ASSIGN)
        }


class Reach(FormPage):
    takes, title, room, button, cancel = ReachIn, "How customers reach us", "office", "Save", "office"
    lead = "A letter that asks somebody not to dive says call us: say where. Whoever collects gear asks when."

    def start(self) -> Mapping[str, Any]:
        row = workshop()
        return {"reach": row.reach, "hours": row.hours} if row else {}

    def seen(self) -> int:
        row = workshop()
        return row.version if row else 0

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.say_reach(by=self.by, seen=seen or 0, **data)
        return reverse("office")


class People(Page):
    template = "staff/people.html"
    room = "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        people = Person.objects.prefetch_related("roles", "authorisations__under").order_by("name")
        return {"people": people, "day": today(), "may_keep": self.by.may(Can.KEEP_PEOPLE)} | {
            "may_doubt": self.by.may(Can.DOUBT)
        }


class NewPerson(FormPage):
    takes, title, room, button, cancel = PersonIn, "Somebody new", "office", "Take on", "people"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_person(by=self.by, **data)
        return reverse("people")


class OnePerson(Page):
    """A person: roles, authorisations, and what a lead may change of them."""

    template, room = "staff/person.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        person = get_object_or_404(Person, uid=kwargs["uid"])
        rows = person.authorisations.select_related("under").order_by("pk")
        may_keep = self.by.may(Can.KEEP_PEOPLE)
        return {"person": person, "authorisations": rows, "day": today(), "may_keep": may_keep}


class ForPerson(FormPage):
    """A form about the person in the address."""

    room = "office"

    def person(self) -> Person:
        return get_object_or_404(Person, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("person", args=[self.kwargs["uid"]])

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        return super().show(status, template, **(more | {"title": f"{self.title}: {self.person().name}"}))


class NewAuthorisation(ForPerson):
    takes, title, button = AuthorisationIn, "Authorise", "Authorise"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).exclude(uid=self.kwargs["uid"]).order_by("name")
        return {"under": [(person.uid, person.name) for person in people]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.authorise(by=self.by, person=self.person(), **data)
        return self.back()


class EndAuthorisation(FormPage):
    takes, title, room, button = EndAuthorisationIn, "End this authorisation", "office", "End it"

    def authorisation(self) -> Authorisation:
        rows = Authorisation.objects.select_related("person")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("person", args=[self.authorisation().person.uid])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.end_authorisation(by=self.by, authorisation=self.authorisation(), **data)
        return self.back()


class ChangePerson(ForPerson):
    """A form that changes the person; what was seen goes with it."""

    def seen(self) -> int:
        return self.person().version


class ChangeRoles(ChangePerson):
    takes, title, button = RolesIn, "Roles", "Give these roles"

    def start(self) -> Mapping[str, Any]:
        return {"roles": self.person().role_list}

    def tell_present(self, form: Form) -> None:
        form.fields[0].help = f"In the record now: {self.person().role_names}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_roles(by=self.by, person=self.person(), seen=seen or 0, **data)
        return self.back()


class Deactivate(ChangePerson):
    takes, title, button = Nothing, "Somebody leaves", "They no longer work here"
    lead = (
        "Every session and every token of theirs ends at once and for good. What they did and signed stays."
    )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.deactivate(by=self.by, person=self.person(), seen=seen or 0)
        return self.back()


class Reactivate(ChangePerson):
    takes, title, button = Nothing, "Somebody comes back", "They work here again"
    lead = "They sign in anew, in the roles they had; tokens that ended stay ended."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.reactivate(by=self.by, person=self.person(), seen=seen or 0)
        return self.back()


urlpatterns = [
    path("office", Office.as_view(), name="office"),
    path("office/reach", Reach.as_view(), name="reach"),
    path("office/people", People.as_view(), name="people"),
    path("office/people/new", NewPerson.as_view(), name="new_person"),
    path("office/people/<uuid:uid>", OnePerson.as_view(), name="person"),
    path("office/people/<uuid:uid>/roles", ChangeRoles.as_view(), name="change_roles"),
    path("office/people/<uuid:uid>/deactivate", Deactivate.as_view(), name="deactivate"),
    path("office/people/<uuid:uid>/reactivate", Reactivate.as_view(), name="reactivate"),
    path("office/authorisations/<uuid:uid>/end", EndAuthorisation.as_view(), name="end_authorisation"),
    path("office/people/<uuid:uid>/authorise", NewAuthorisation.as_view(), name="authorise"),
]
