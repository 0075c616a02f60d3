"""Orders from the draft to the last piece, and what to order."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.orders import actions
from shop.orders.api import file_of, the_line, the_order, the_receipt, the_wish
from shop.orders.models import Line, Order
from shop.orders.reads import came_of, one_sheet, order_paper, proposed_packs, sheets, to_order
from shop.orders.rules import State
from shop.orders.shapes import (
    LineReceiveIn,
    OrderCloseIn,
    PacksIn,
    SendIn,
    TakeBackIn,
)
from shop.paper.pages import PaperPage
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.pages import bins
from shop.suppliers.api import the_offer
from shop.suppliers.pages import OfferPage
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import today
from shop.workshop.rules import in_unit

MOST_SHOWN = 100


def missing_of(line: Line) -> int:
    """How many pieces of a line did not come yet."""
    return max(0, line.packs * line.pack_size - came_of(line))


class OrderOffer(OfferPage):
    """Put an offer on its supplier's draft; the form holds what the store lacks, in whole packs."""

    takes, title, button = PacksIn, "Put it on a draft", "Put it there"
    lead = "Nothing is sent yet: the supplier's draft is looked at once more before it goes."

    def start(self) -> Mapping[str, Any]:
        return {"packs": proposed_packs(the_offer(self.kwargs["uid"]), today())}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        offer = the_offer(self.kwargs["uid"])
        order = actions.draft_order(by=self.by, supplier=offer.supplier, lines=[(offer, data["packs"])])
        return reverse("order", args=[order.uid])


class Orders(Page):
    template, room = "orders/orders.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        newest = Order.objects.select_related("supplier").order_by("-number")[:MOST_SHOWN]
        return {"sheets": sheets(list(newest)), "day": today()}


class OneOrder(Page):
    template, room = "orders/order.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        found, may = one_sheet(kwargs["uid"]), self.by.may(Can.KEEP_STOCK)
        state = found.order.state
        known: dict[str, Any] = {"sheet": found, "order": found.order, "day": today()}
        may_do = {"may_draft": may and state == State.DRAFT, "may_receive": may and state == State.SENT}
        return known | may_do | {"may_keep": may}


class OrderPage(FormPage):
    """The base of the forms of an order."""

    room = "store"

    def order(self) -> Order:
        return the_order(self.kwargs["uid"])

    def about(self) -> str:
        row = self.order()
        return f"{row.label}, {row.supplier}"

    def back(self) -> str:
        return reverse("order", args=[self.order().uid])


class SendOrder(OrderPage):
    takes, title, button = SendIn, "Send an order", "Send it"
    lead = "Afterwards its lines stay as they are now."

    def about(self) -> str:
        row = self.order()
        return f"{row.label}, {row.supplier}, {row.supplier.email or 'no e-mail address'}"

    def seen(self) -> int:
        return self.order().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.send_order(by=self.by, order=self.order(), seen=seen or 0, **data)
        return self.back()


class CloseOrder(OrderPage):
    takes, title, button = OrderCloseIn, "Close an order", "Close it"
    lead = "For an order of which no more is waited for. One of which everything came closes by itself."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.close_order(by=self.by, order=self.order(), **data)
        return self.back()


class TakeOff(OrderPage):
    takes, title, button = Nothing, "Take a line off", "Take it off"

    def order(self) -> Order:
        return the_wish(self.kwargs["uid"]).order

    def about(self) -> str:
        return str(the_wish(self.kwargs["uid"]))

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("order", args=[actions.take_off(by=self.by, line=the_wish(self.kwargs["uid"])).uid])


class ReceiveLine(OrderPage):
    takes, title, button = LineReceiveIn, "Receive what came", "Receive it"

    def order(self) -> Order:
        return the_line(self.kwargs["uid"]).order

    def about(self) -> str:
        line = the_line(self.kwargs["uid"])
        return f"{line.part} of {line.order.label}: {in_unit(missing_of(line), line.part.unit)} missing."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"bin": bins()}

    def start(self) -> Mapping[str, Any]:
        return {"quantity": missing_of(the_line(self.kwargs["uid"])) or ""}

    def form(self, *given: Any, **more: Any) -> Form:
        """The word that more came stands with what is seldom asked for, below."""
        form = super().form(*given, **more)
        form.count_in(the_line(self.kwargs["uid"]).part.unit)
        form.fold(["cost", "effective_on", "more"], "Another cost, an earlier day, or more than was ordered")
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.receive_line(by=self.by, line=the_line(self.kwargs["uid"]), **data)
        return self.back()


class TakeBack(OrderPage):
    takes, title, button = TakeBackIn, "Take a receipt back", "Take it back"
    lead = "For a receipt that was written down wrongly. It goes back whole; receive what really came afterwards."

    def order(self) -> Order:
        return the_receipt(self.kwargs["uid"]).line.order

    def about(self) -> str:
        row = the_receipt(self.kwargs["uid"])
        came = in_unit(row.movement.quantity, row.line.part.unit)
        return f"{row.line.order.label}: {came} of {row.line.part} into lot {row.movement.lot.number}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_back_receipt(by=self.by, receipt=the_receipt(self.kwargs["uid"]), **data)
        return self.back()


class OrderFile(Page):
    """The lines of an order as a file, as its letter has them."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        return file_of(one_sheet(kwargs["uid"]))


class ToOrder(Page):
    template, room = "orders/to_order.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"day": today(), "rows": to_order(today()), "may_keep": self.by.may(Can.KEEP_STOCK)}


urlpatterns = [
    path("store/offers/<uuid:uid>/order", OrderOffer.as_view(), name="order_offer"),
    path("store/orders", Orders.as_view(), name="orders"),
    path("store/orders/<uuid:uid>", OneOrder.as_view(), name="order"),
    path("orders/<uuid:uid>/order.pdf", PaperPage.as_view(read=order_paper), name="order_paper"),
    path("orders/<uuid:uid>/order.csv", OrderFile.as_view(), name="order_file"),
    path("store/receipts/<uuid:uid>/take-back", TakeBack.as_view(), name="take_back_receipt"),
    path("store/orders/<uuid:uid>/send", SendOrder.as_view(), name="send_order"),
    path("store/orders/<uuid:uid>/close", CloseOrder.as_view(), name="close_order"),
    path("store/draft-lines/<uuid:uid>/take-off", TakeOff.as_view(), name="take_off"),
    path("store/order-lines/<uuid:uid>/receive", ReceiveLine.as_view(), name="receive_line"),
    path("store/to-order", ToOrder.as_view(), name="to_order"),
]
