"""The Store."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.paper.pages import PaperPage
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock import actions
from shop.stock.models import Bin, Lot, Part, Stored
from shop.stock.reads import (
    bin_label,
    claims,
    levels,
    lot_label,
    lot_labels,
    names_of,
    parts_like,
    signed,
    standing,
    why_kept_back,
    why_not_extended,
)
from shop.stock.shapes import (
    BinIn,
    ContentIn,
    ExtensionIn,
    FitnessIn,
    MovementIn,
    OpenKitIn,
    PartChangeIn,
    PartIn,
    ReceiveIn,
)
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Form
from shop.workshop.reads import currency, local_day, today
from shop.workshop.rules import in_unit, priced

MOST_SHOWN = 200


class Store(Page):
    template, room = "stock/store.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        q = self.request.GET.get("q", "").replace("\0", "").strip()[:80]
        rows = parts_like(q).prefetch_related("lots__stored__bin", "contents__part")
        known = levels([part.number for part in rows], today(), claims())
        signs = signed([lot for part in rows for lot in part.lots.all()], today())
        return {
            "q": q,
            "parts": [(part, known[part.number], with_signs(part, signs)) for part in rows],
            "may_keep": self.by.may(Can.KEEP_STOCK),
            "may_open": self.by.may(Can.OPEN_KIT),
            "may_doubt": self.by.may(Can.DOUBT),
        }


def with_signs(part: Part, signs: Mapping[Lot, list[str]]) -> list[tuple[Lot, list[str]]]:
    """The lots of a part, each with the signs beside its last day."""
    return [(lot, signs.get(lot, [])) for lot in part.lots.all()]


def bins() -> list[tuple[Any, str]]:
    """The bins to choose from, by site."""
    rows = Bin.objects.order_by("site", "label")
    return [("", "not said"), *((row.uid, str(row)) for row in rows)]


class Bins(Page):
    """Every bin and what lies in it."""

    template, room = "stock/bins.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        lying = (
            Stored.objects.filter(on_hand__gt=0)
            .select_related("lot__part")
            .order_by("lot__part__number", "lot")
        )
        rows = Bin.objects.order_by("site", "label").prefetch_related(Prefetch("stored", lying))
        return {"bins": rows, "may_keep": self.by.may(Can.KEEP_STOCK), "may_count": self.by.may(Can.OPEN_KIT)}


class NewBin(FormPage):
    takes, title, room, button, cancel = BinIn, "New bin", "store", "Add it", "bins"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_bin(by=self.by, **data)
        return reverse("bins")


class NewPart(FormPage):
    takes, title, room, button, cancel = PartIn, "New part", "store", "Add it", "store"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("part", args=[actions.add_part(by=self.by, **data).uid])


class OnePart(Page):
    """How many of a part are there, and which open jobs still need some."""

    template, room = "stock/part.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = Part.objects.prefetch_related("contents__part", "lots__stored__bin")
        part, day = get_object_or_404(rows, uid=kwargs["uid"]), today()
        level, found = standing(part, day)
        return {
            "part": part,
            "lots": with_signs(part, signed(part.lots.all(), day)),
            "level": level,
            "shares": found,
            "panels": panels("part", part),
            "may_keep": self.by.may(Can.KEEP_STOCK),
            "may_hold": self.by.may(Can.KEEP_STOCK) and not part.lots.all(),
            "may_approve": self.by.may(Can.KEEP_PLANS),
        }


class PartPage(FormPage):
    """The base of the forms about a part."""

    room, button = "store", "Save"

    def back(self) -> str:
        return reverse("part", args=[self.kwargs["uid"]])

    def part(self) -> Part:
        return get_object_or_404(Part, uid=self.kwargs["uid"])

    def about(self) -> str:
        return str(self.part())

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        form.count_in(self.part().unit)
        return form


class ChangePart(PartPage):
    takes, title = PartChangeIn, "Name, size, unit and levels"

    def form(self, *given: Any, **more: Any) -> Form:
        """A part has a name and is counted in something: none is no choice."""
        form = super().form(*given, **more)
        for control in form.fields:
            if control.name in ("name", "unit"):
                control.blank, control.may = False, ""
        return form

    def seen(self) -> int:
        return self.part().version

    def start(self) -> Mapping[str, Any]:
        names = list(PartChangeIn().fields)
        row = Part.objects.filter(uid=self.kwargs["uid"]).values(*names).get()
        return {name: "" if value is None else value for name, value in row.items()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_part(by=self.by, part=self.part(), seen=seen or 0, **data)
        return self.back()


class Fitness(PartPage):
    takes, title = FitnessIn, "Gas services"

    def seen(self) -> int:
        return self.part().version

    def about(self) -> str:
        part = self.part()
        return f"{part}: {part.fitness}"

    def start(self) -> Mapping[str, Any]:
        part = self.part()
        return {"fit_for": part.fit_for.split(", "), "fit_source": part.fit_source}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.state_fitness(by=self.by, part=self.part(), seen=seen or 0, **data)
        return self.back()


class Receive(PartPage):
    takes, title, button = ReceiveIn, "Receive a lot", "Receive it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"bin": bins()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        lot = actions.receive(by=self.by, part=self.part(), **data)
        return reverse("lot", args=[lot.uid]) if why_kept_back(lot) else self.back()


class OneLot(Page):
    """A lot: what is left, where it went, and every movement."""

    template, room = "stock/lot.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        lot = get_object_or_404(Lot.objects.select_related("part"), uid=kwargs["uid"])
        code = currency()
        newest = list(lot.movements.select_related("bin").order_by("-pk")[: MOST_SHOWN + 1])
        who = names_of({row.by for row in newest})
        return {
            "lot": lot,
            "day": today(),
            "movements": [
                (row, priced(row.cost, code), local_day(row.at), who.get(row.by, "—"))
                for row in newest[:MOST_SHOWN]
            ],
            "more": len(newest) > MOST_SHOWN,
            "past": lot.good_to is not None and lot.good_to < today(),
            "panels": panels("lot", lot),
            "may_keep": self.by.may(Can.KEEP_STOCK),
            "may_open": self.by.may(Can.OPEN_KIT) and lot.part.contents.exists(),
            "may_extend": self.by.may(Can.KEEP_STOCK) and not why_not_extended(lot),
            "may_doubt": self.by.may(Can.DOUBT),
        }


class LotPage(FormPage):
    """The base of the forms about a lot."""

    room = "store"

    def lot(self) -> Lot:
        return get_object_or_404(Lot.objects.select_related("part"), uid=self.kwargs["uid"])

    def about(self) -> str:
        lot = self.lot()
        return f"Lot {lot.number} of {lot.part}, {in_unit(lot.on_hand, lot.part.unit)} on hand."

    def back(self) -> str:
        return reverse("lot", args=[self.kwargs["uid"]])

    def form(self, *given: Any, **more: Any) -> Form:
        form = super().form(*given, **more)
        form.count_in(self.lot().part.unit)
        return form


class ExtendLot(LotPage):
    takes, title, button = ExtensionIn, "Extend the life of a lot", "Extend it"
    lead = "Only after an inspection as the rule asks for it, and once."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.extend(by=self.by, lot=self.lot(), **data)
        return self.back()


class MoveLot(LotPage):
    takes, title, button = MovementIn, "Move some of a lot", "Do it"
    lead = "What a job takes is taken on its work sheet; this is for everything else."

    def about(self) -> str:
        """With what keeps the lot back, before anybody types."""
        kept = [each.sentence for each in why_kept_back(self.lot())]
        left = ["Nothing of it is taken; it may be put back, scrapped, moved or counted."] if kept else []
        return " ".join([super().about(), *kept, *left])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"bin": bins(), "to": bins()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.move_by_hand(by=self.by, lot=self.lot(), **data)
        return self.back()


class NewContent(PartPage):
    takes, title, button = ContentIn, "What a kit holds", "Add it"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Part.objects.exclude(uid=self.kwargs["uid"]).order_by("number")
        return {"part": [(part.uid, str(part)) for part in rows]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_content(by=self.by, kit=self.part(), **data)
        return self.back()


class OpenKit(LotPage):
    takes, title, button = OpenKitIn, "Open kits", "Open them"
    lead = "Their pieces stand in the store afterwards under the kit's own lot number."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.open_kit(by=self.by, lot=self.lot(), **data)
        return self.back()


urlpatterns = [
    path("store/parts/<uuid:uid>/contents", NewContent.as_view(), name="new_content"),
    path("store/lots/<uuid:uid>/open", OpenKit.as_view(), name="open_kit"),
    path("store", Store.as_view(), name="store"),
    path("store/bins", Bins.as_view(), name="bins"),
    path("store/bins/new", NewBin.as_view(), name="new_bin"),
    path("store/parts/new", NewPart.as_view(), name="new_part"),
    path("store/parts/<uuid:uid>", OnePart.as_view(), name="part"),
    path("store/parts/<uuid:uid>/change", ChangePart.as_view(), name="change_part"),
    path("store/parts/<uuid:uid>/fitness", Fitness.as_view(), name="fitness"),
    path("store/parts/<uuid:uid>/receive", Receive.as_view(), name="receive"),
    path("store/lots/<uuid:uid>", OneLot.as_view(), name="lot"),
    path("store/lots/<uuid:uid>/extend", ExtendLot.as_view(), name="extend_lot"),
    path("store/lots/<uuid:uid>/move", MoveLot.as_view(), name="move_lot"),
    path("lots/<uuid:uid>/label.pdf", PaperPage.as_view(read=lot_label), name="lot_label"),
    path("parts/<uuid:uid>/labels.pdf", PaperPage.as_view(read=lot_labels), name="lot_labels"),
    path("bins/<uuid:uid>/label.pdf", PaperPage.as_view(read=bin_label), name="bin_label"),
]
