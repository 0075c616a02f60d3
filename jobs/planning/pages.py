"""The pages to assign jobs and to promise a day."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.flow.models import DropOff, Job
from jobs.flow.pages import OfJob
from jobs.flow.reads import open_jobs
from jobs.planning import actions
from jobs.planning.reads import authorised, authorised_for_all, technicians
from jobs.planning.shapes import AssignIn, GiveAllIn, HandOnIn, PromiseIn
from shop.staff.models import Person
from shop.web.pages import FormPage
from shop.web.shapes import Form


class Assign(OfJob):
    takes, title, button = AssignIn, "Give this job to", "Give it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        self.able, self.others = authorised(self.job())
        return {"technician": [(person.uid, person.name) for person in self.able]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """Says which job it is, and who is not in the list."""
        form, job = super().form(*args, **kwargs), self.job()
        form.note = f"Tray {job.number}: {job.item.title}, {job.item.marks}."
        if self.others:
            names = ", ".join(person.name for person in self.others)
            form.note += f" Not authorised for it today: {names}."
        return form

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.assign(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


class GiveAll(FormPage):
    takes, title, room, button = GiveAllIn, "Give its jobs to", "counter", "Give them"

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def waiting(self) -> list[Job]:
        return list(open_jobs().filter(drop_off=self.drop_off(), technician=None).exclude(leg="signed_off"))

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = [(person.uid, person.name) for person in authorised_for_all(self.waiting())]
        return {"technician": people}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, trays = super().form(*args, **kwargs), [str(job.number) for job in self.waiting()]
        form.note = (
            f"{self.drop_off().label}, what nobody has yet: tray {', '.join(trays)}."
            if trays
            else (f"Everything of {self.drop_off().label} is with somebody already.")
        )
        form.note += " Only who is authorised for all of it today stands in the list."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.give_all(by=self.by, drop_off=self.drop_off(), **data)
        return self.back()


class Promise(OfJob):
    takes, title, button = PromiseIn, "Promise another day", "Promise it"

    def seen(self) -> int:
        return self.job().version

    def start(self) -> Mapping[str, Any]:
        return {"promised_on": self.job().promised_on.isoformat()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.promise(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


class HandOn(FormPage):
    takes, title, room, button, cancel = (
        HandOnIn,
        "Hand all their jobs on",
        "office",
        "Hand them on",
        "people",
    )

    def leaving(self) -> Person:
        return get_object_or_404(Person, uid=self.kwargs["uid"])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"technician": [(p.uid, p.name) for p in technicians() if p.uid != self.kwargs["uid"]]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, leaving = super().form(*args, **kwargs), self.leaving()
        count = open_jobs().filter(technician=leaving).exclude(leg="signed_off").count()
        form.note = f"{count} open job{'' if count == 1 else 's'} with {leaving.name}; all of them or none."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.hand_on_all(by=self.by, leaving=self.leaving(), **data)
        return reverse("people")


urlpatterns = [
    path("jobs/<uuid:uid>/assign", Assign.as_view(), name="assign"),
    path("drop-offs/<uuid:uid>/assign", GiveAll.as_view(), name="give_all"),
    path("jobs/<uuid:uid>/promise", Promise.as_view(), name="promise"),
    path("office/people/<uuid:uid>/hand-on", HandOn.as_view(), name="hand_on"),
]
