"""What the page of a loose part asks: what became of it, and from which lot the new one is."""

from collections.abc import Mapping
from typing import Any

from jobs.flow.pages import JobPage
from jobs.flow.reads import use_of_job
from jobs.flow.shapes import LATER
from jobs.tray.reads import about_part, bins_for, ended_parts, lots_for
from jobs.tray.rules import Origin
from jobs.tray.shapes import EndingIn
from shop.alternatives.reads import approved_for
from shop.catalogue.rules import LoosePart
from shop.staff.rules import Can
from shop.stock.models import Lot
from shop.web.shapes import Form


class PartPage(JobPage):
    """The base of the form about a loose part; who may stand beside whoever works, and what comes next, is said above."""

    takes, button = EndingIn, "Account for it"

    @property
    def title(self) -> str:  # type: ignore[override]  # the page is named after its part
        part = self.part()
        return f"What became of it: {part.name}" if part else "No such part"

    def part(self) -> LoosePart | None:
        return self.job().plan.part(self.kwargs["key"])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        lots = self.lots(others=self.by.may(Can.OVERRIDE))
        places: list[tuple[Any, str]] = [
            (place.uid, said) for place, said in bins_for(each[0] for each in lots)
        ]
        return {
            "lot": [(lot.uid, said) for lot, said, _ in lots],
            "bin": [("", "the one with most of the lot"), *places],
        }

    def start(self) -> Mapping[str, Any]:
        part = self.part()
        if not (part and part.renew):
            return {"ending": "reused"}
        first = next((str(lot.uid) for lot, _, well in self.lots() if well), "")
        return {"ending": "renewed", "lot": first}

    def lots(self, *, others: bool = False) -> list[tuple[Lot, str, bool]]:
        """Lots to choose from here, in words, and whether they may go in."""
        part = self.part()
        return lots_for(part, use_of_job(self.job()), others=others) if part else []

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, part = super().form(*args, **kwargs), self.part()
        if self.by.may(Can.OVERRIDE):
            said = "Override a refusal, it is lost, or somebody else did it"
            form.fold(("override", "second", "second_secret", *LATER), said)
            form.folded.sort(key=lambda control: control.name != "override")
        else:
            form.fields = [control for control in form.fields if control.name != "override"]
            form.fold(("second", "second_secret", *LATER), "It is lost, or somebody else did it earlier")
        # Where everything lies in one bin nobody is asked for it.
        form.fields = [each for each in form.fields if each.name != "bin" or len(each.choices) > 2]
        if not (part and approved_for(part.renew)):
            form.fields = [each for each in form.fields if each.name != "as_alternative"]
        stands = ended_parts(self.job()).get(self.kwargs["key"])
        form.ask_if("why", needed=stands is not None and stands.origin != Origin.NOTHING)
        form.note = about_part(self.job(), self.kwargs["key"], self.request.GET.get("done", ""))
        return form
