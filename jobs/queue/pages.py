"""The Bench, which is the queue, and the Office's board of the day."""

from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django.core.exceptions import BadRequest
from django.urls import path

from jobs.planning.reads import technicians
from jobs.queue import reads
from jobs.queue.rules import View
from jobs.queue.shapes import LEGS, QueueIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page

HEADINGS = {View.NEXT: "Next for you", View.ME: "Your bench", View.EVERYBODY: "Everybody's bench"}
VIEWS = [(View.NEXT, "Next for me"), (View.ME, "Mine"), (View.EVERYBODY, "Everybody's")]


class Bench(Page):
    template, room = "queue/bench.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        shape = QueueIn(data=self.request.GET)
        if not shape.is_valid():
            raise BadRequest("The Bench has no such view.")
        given = shape.validated_data
        given["of"] = of = reads.view_of(self.by, given["of"])
        found = reads.queue(self.by, **given)
        rows = reads.shown(found["rows"])
        going = [each for each in rows if each.row.can_go_on]
        return found | {
            "heading": HEADINGS[of],
            "going": reads.groups(going),
            "waiting": reads.groups([each for each in rows if not each.row.can_go_on]),
            "first": next(
                (each.job for each in going if of != View.EVERYBODY and each.row.place.standing.mine), None
            ),
            "may_move": self.by.may(Can.MOVE),
            "pickable": self.by.may(Can.MOVE) and any(each.row.pickable for each in going),
            "may_assign": self.by.may(Can.ASSIGN),
            "once": uuid4(),
            "filtered": bool(given["leg"] or given["technician"]),
            **self.links(of, given),
        }

    def links(self, of: View, given: dict[str, Any]) -> dict[str, Any]:
        """Links to the views and filters, each with whether it is the present one."""
        who = given["technician"]
        asked = {"of": of.value, "leg": given["leg"], "technician": str(who.uid) if who else ""}

        def link(label: str, **more: str) -> dict[str, Any]:
            wanted = {name: value for name, value in (asked | more).items() if value}
            present = all(asked[name] == value for name, value in more.items())
            return {"label": label, "url": f"?{urlencode(wanted)}", "on": present}

        everybody = of == View.EVERYBODY
        views = VIEWS if self.by.may(Can.WORK) else VIEWS[-1:]
        return {
            "views": [
                link(label, of=view.value, leg="", technician="") | {"on": view == of}
                for view, label in views
            ],
            "legs": [link("every leg", leg=""), *(link(label, leg=leg) for leg, label in LEGS)],
            "people": [
                link("everybody", technician=""),
                *(link(person.name, technician=str(person.uid)) for person in technicians()),
            ]
            if everybody
            else [],
        }


class Board(Page):
    """For whoever gives jobs out."""

    template, room, needs = "queue/board.html", "office", Can.ASSIGN.value

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.ASSIGN)
        return reads.board()


urlpatterns = [
    path("bench", Bench.as_view(), name="bench"),
    path("office/board", Board.as_view(), name="board"),
]
