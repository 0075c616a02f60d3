"""Bills of a drop-off, and marks of what was paid."""

from collections.abc import Mapping
from typing import Any

from django.urls import path, reverse
from django.utils.functional import cached_property

from jobs.bills import actions
from jobs.bills.api import the_bill, the_payment
from jobs.bills.models import Bill
from jobs.bills.reads import Account, account, beyond, shown, whom
from jobs.bills.rules import Mark
from jobs.bills.shapes import BillIn, PaymentIn, WhyIn
from jobs.estimates.pages import OfDropOff
from jobs.estimates.rules import total
from shop.money.reads import terms
from shop.money.rules import Payer
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.rules import money, priced


class OfAccount(OfDropOff):
    """The base of a form about the money of one drop-off."""

    @cached_property
    def account(self) -> Account:
        return account(self.drop_off)


class MakeBill(OfAccount):
    takes, title, button = BillIn, "Make out a bill", "Make out the bill"
    lead = "A bill that was made out is never changed: a counter-bill takes it back."

    def start(self) -> Mapping[str, Any]:
        return {"payer": next((payer for payer, rows in self.account.open.items() if rows), None)}

    def about(self) -> str:
        found = self.account
        said = [
            f"{priced(total(rows, found.estimate.terms, payer=payer).payable, found.currency)} of the {payer} "
            f"({', '.join(each.what for each in rows)})"
            for payer, rows in found.open.items()
            if rows
        ]
        found_too = beyond(found.estimate.drop_off, found.open[Payer.CUSTOMER])
        more = f" Used beyond the plans: {', '.join(found_too)}. Only a line on the estimate charges it."
        first = f"Signed off and not billed yet: {'; '.join(said) or 'nothing'}."
        return first + (more if found_too else "")

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"payer": [(each.value, each.value) for each in (Payer.CUSTOMER, Payer.PROGRAMME)]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.make_bill(by=self.by, drop_off=self.drop_off, **data)
        return reverse("bill", args=[row.uid])


class MarkPaid(OfAccount):
    takes, title, button = PaymentIn, "Mark what was paid", "Mark it"
    lead = "It is only marked here: the till, the card machine or the bank handle the money."

    def start(self) -> Mapping[str, Any]:
        found = self.account
        first = {} if found.billed_now is not None else {"kind": Mark.DEPOSIT.value}
        return first | ({"amount": money(found.due, found.currency)} if found.due > 0 else {})

    def about(self) -> str:
        found = self.account
        return f"Billed {priced(found.billed, found.currency)}, paid {priced(found.paid, found.currency)}. Due: {found.balance}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.mark_paid(by=self.by, drop_off=self.drop_off, **data)
        return self.back()


class TakeBackPayment(FormPage):
    takes, title, room, button = WhyIn, "Take a mark back", "counter", "Take it back"

    def back(self) -> str:
        return reverse("money", args=[the_payment(self.kwargs["uid"]).drop_off.uid])

    def about(self) -> str:
        row = the_payment(self.kwargs["uid"])
        return f"{row.kind.capitalize()} of {priced(row.amount, row.currency)} by {row.way}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_back_payment(by=self.by, payment=the_payment(self.kwargs["uid"]), **data)
        return self.back()


class OneBill(Page):
    template, room = "bills/bill.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row: Bill = the_bill(kwargs["uid"])
        may = self.by.may(Can.BILL) and row.corrects is None and not hasattr(row, "countered_by")
        return {
            "bill": row,
            "whom": whom(row)[0],
            "may_counter": may,
            "tax_number": terms().tax_number,
        } | shown(row)


class CounterBill(FormPage):
    takes, title, room, button = WhyIn, "Counter this bill", "counter", "Make out the counter-bill"
    lead = "It takes the whole bill back under a number of its own. What was on it may then be billed anew."

    def back(self) -> str:
        return reverse("bill", args=[self.kwargs["uid"]])

    def about(self) -> str:
        row = the_bill(self.kwargs["uid"])
        return f"{row.label}, {priced(row.total, row.currency)}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.counter_bill(by=self.by, bill=the_bill(self.kwargs["uid"]), **data)
        return reverse("bill", args=[row.uid])


urlpatterns = [
    path("drop-offs/<uuid:uid>/bill", MakeBill.as_view(), name="make_bill"),
    path("drop-offs/<uuid:uid>/pay", MarkPaid.as_view(), name="mark_paid"),
    path("payments/<uuid:uid>/take-back", TakeBackPayment.as_view(), name="take_back_payment"),
    path("bills/<uuid:uid>", OneBill.as_view(), name="bill"),
    path("bills/<uuid:uid>/counter", CounterBill.as_view(), name="counter_bill"),
]
