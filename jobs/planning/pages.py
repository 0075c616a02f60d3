"""The page to assign a job."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.flow.models import Job
from jobs.planning import actions
from jobs.planning.shapes import AssignIn
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.web.pages import FormPage


class Assign(FormPage):
    takes, title, room, button = AssignIn, "Give this job to", "bench", "Give it"

    def back(self) -> str:
        return reverse("job", args=[self.kwargs["uid"]])

    def job(self) -> Job:
        return get_object_or_404(Job, uid=self.kwargs["uid"])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).prefetch_related("roles").order_by("name")
        return {"technician": [(person.uid, person.name) for person in people if person.may(Can.WORK)]}

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.assign(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


urlpatterns = [path("jobs/<uuid:uid>/assign", Assign.as_view(), name="assign")]
