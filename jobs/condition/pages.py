"""The form on which all pieces of a drop-off are gone through, and the Office's pages of what is asked."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.condition import actions
from jobs.condition.api import known
from jobs.condition.reads import NO_VERDICT, here, lists, newest, versions
from jobs.condition.rules import AT_ONCE, Said
from jobs.condition.shapes import ConditionListPageIn, ConditionLookIn
from jobs.flow.models import DropOff, Line
from shop.api.rules import flatten
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.rules import Kind, Refusal


class LookAt(FormPage):
    """All pieces of a drop-off at once, or the one that is asked for by the number of its line."""

    template, room, title, button = "condition/look.html", "counter", "How it came", "Keep it"
    takes, lead = ConditionLookIn, NO_VERDICT

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff.objects.select_related("customer"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        drop_off = self.drop_off()
        lines, sent = here(drop_off), self.request.POST
        only = self.request.GET.get("line", "")
        chosen = [line for line in lines if only in ("", str(line.n))]
        if sent:  # in the order in which they are read, so that what is wrong is found by its place
            chosen = sorted((line for line in lines if f"{_name(line)}line" in sent), key=lambda line: line.n)
        present = lists()
        keys = {line.pk: self.asked_of(line, present[line.item.model.kind].n) for line in chosen if line.item}
        asked = versions(keys.values())
        drawn = [line for line in chosen if line.pk in keys and asked.get(keys[line.pk])]
        return {
            "drop_off": drop_off,
            "pieces": [self.piece(line, keys[line.pk][1], asked[keys[line.pk]]) for line in drawn[:AT_ONCE]],
            "more": max(0, len(drawn) - AT_ONCE),
            "bags": [line for line in chosen if line.item is None],
            "keep": f"look-{drop_off.uid}-{only}-{sorted(set(keys.values()))}",
        }

    def asked_of(self, line: Line, n: int) -> tuple[str, int]:
        """The list of a line's kind: the newest one, or that which was shown when it was sent."""
        assert line.item is not None  # whoever asks has looked
        said = self.request.POST.get(f"{_name(line)}version", "")
        return line.item.model.kind, int(said) if said.isdecimal() and len(said) < 10 else n

    def piece(self, line: Line, version: int, asks: list[str]) -> dict[str, Any]:
        """One piece as it is drawn, with what was sent of it."""
        name, sent = _name(line), self.request.POST
        rows = []
        for n, words in enumerate(asks):
            at = f"{name}answers[{n}]"
            said = sent.get(f"{at}said", "")
            choices = [(each.value, each.value == said) for each in Said]
            rows.append({"words": words, "at": at, "choices": choices, "note": sent.get(f"{at}note", "")})
        rest = bool(sent.get(f"{name}rest_fine"))
        return {"line": line, "name": name, "version": version, "rest": rest, "rows": rows}

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        form.action = self.request.get_full_path()
        return form

    def again(
        self, status: int, refusals: list[Refusal], errors: Mapping[str, Any] | None = None
    ) -> HttpResponse:
        """What is wrong inside a piece stands in the list at the top, with the way there."""
        wrong = [
            Refusal(each["code"], each["detail"], each["pointer"].strip("/").replace("/", "-"))
            for each in flatten(errors or {})
        ]
        return super().again(status, [*refusals, *wrong] if errors else refusals)

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.look(by=self.by, drop_off=self.drop_off(), **data)
        return self.back()


def _name(line: Line) -> str:
    """How the fields of a line begin: by its number, so that words kept in the browser never go to another one."""
    return f"pieces[{line.n}]"


class ConditionLists(Page):
    template, room = "condition/lists.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"lists": list(lists().values()), "may_keep": self.by.may(Can.KEEP_PLANS)}


class ChangeConditionList(FormPage):
    takes, room, button, cancel = ConditionListPageIn, "office", "Keep it", "condition_lists"
    lead = "It is asked from now on. What was answered before keeps the words that were asked then."

    @property
    def kind(self) -> str:
        return known(self.kwargs["kind"])

    @property
    def title(self) -> str:  # type: ignore[override]  # of each kind its own
        return f"Condition list: {Kind(self.kind).label}"

    def start(self) -> Mapping[str, Any]:
        return {"asks": "\n".join(newest(self.kind).asks)}

    def seen(self) -> int:
        return newest(self.kind).n

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.write_list(by=self.by, kind=self.kind, seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("drop-offs/<uuid:uid>/looks", LookAt.as_view(), name="look_at"),
    path("office/condition-lists", ConditionLists.as_view(), name="condition_lists"),
    path("office/condition-lists/<slug:kind>", ChangeConditionList.as_view(), name="condition_list"),
]
