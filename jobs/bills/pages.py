"""What a drop-off costs, its bills and what was paid; the books as a file."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.bills import actions
from jobs.bills.api import books_file, the_bill, the_payment
from jobs.bills.models import Bill
from jobs.bills.reads import account, bill_paper, shown, whom
from jobs.bills.rules import Mark
from jobs.bills.shapes import BillIn, PaymentIn, PeriodIn, WhyIn
from jobs.estimates.pages import OfDropOff
from jobs.estimates.reads import taxed
from jobs.estimates.rules import total
from jobs.flow.models import DropOff
from jobs.flow.rules import ENDED
from shop.money.rules import Payer
from shop.paper.pages import PaperPage
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form, controls
from shop.workshop.rules import money, priced


class Money(Page):
    template, room = "bills/money.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row = get_object_or_404(DropOff.objects.select_related("customer"), uid=kwargs["uid"])
        found = account(row)
        code, est = found.currency, found.estimate
        trays = {job.pk: job for job in row.jobs.all()}
        lines = [
            {
                "entry": each,
                "said": money(each.value, code),
                "full": priced(each.amount, code),
                "less": priced(each.discount, code),
                "tax": taxed(each.rate),
                "job": trays.get(each.job) if each.job else None,
                "open": each.uid is None or each.state in ("stands", "likely"),
            }
            for each in est.entries
        ]
        payers = [
            (
                payer,
                [(taxed(g.rate), *(money(n, code) for n in (g.net, g.tax, g.gross))) for g in each.groups],
                [money(n, code) for n in (each.net, each.tax, each.gross)],
            )
            for payer, each in est.payers.items()
        ]
        open_ = {
            payer: priced(total(rows, est.terms, payer=payer).gross, code)
            for payer, rows in found.open.items()
            if rows
        }
        return {
            "drop_off": row, "lines": lines, "payers": payers, "terms": est.terms, "go_ahead": est.go_ahead,
            "agreed": priced(est.go_ahead.amount, code) if est.go_ahead else "",
            "price": priced(est.price, code), "with_likely": priced(est.with_likely, code),
            "likely": est.with_likely != est.price, "open": open_,
            "too_low": est.go_ahead is not None and est.go_ahead.amount < est.price,
            "bills": [(bill, priced(bill.total, bill.currency)) for bill in found.bills],
            "payments": [(each, priced(each.signed, each.currency)) for each in found.payments],
            "billed": priced(found.billed, code), "paid": priced(found.paid, code), "due": priced(found.due, code),
            "owes": found.due > 0, "working": [job for job in trays.values() if job.leg not in ENDED],
            "may_take": self.by.may(Can.TAKE_GO_AHEAD), "may_bill": self.by.may(Can.BILL),
        }  # fmt: skip


class MakeBill(OfDropOff):
    takes, title, button = BillIn, "Make out a bill", "Make out the bill"
    lead = "A bill that was made out is never changed: a counter-bill takes it back."

    def about(self) -> str:
        found = account(self.drop_off())
        said = [
            f"{priced(total(rows, found.estimate.terms, payer=payer).gross, found.currency)} of the {payer} "
            f"({', '.join(each.what for each in rows)})"
            for payer, rows in found.open.items()
            if rows
        ]
        return f"Signed off and not billed yet: {'; '.join(said) or 'nothing'}."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"payer": [(each.value, each.value) for each in (Payer.CUSTOMER, Payer.PROGRAMME)]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.make_bill(by=self.by, drop_off=self.drop_off(), **data)
        return reverse("bill", args=[row.uid])


class MarkPaid(OfDropOff):
    takes, title, button = PaymentIn, "Mark what was paid", "Mark it"
    lead = "It is only marked here: the till, the card machine or the bank handle the money."

    def start(self) -> Mapping[str, Any]:
        found = account(self.drop_off())
        first = {} if found.bills else {"kind": Mark.DEPOSIT.value}
        return first | ({"amount": money(found.due, found.currency)} if found.due > 0 else {})

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.mark_paid(by=self.by, drop_off=self.drop_off(), **data)
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
        return {"bill": row, "whom": whom(row), "may_counter": may} | shown(row)


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


class Books(Page):
    """A period to choose; a period that cannot be read is refused."""

    template, room = "bills/books.html", "office"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = PeriodIn(data=request.GET.dict())
        wrong = {} if shape.is_valid() else dict(shape.errors)
        sent = {name: request.GET.get(name, "") for name in ("first", "last")}
        form = Form(
            reverse("books_file"), "Take the file", controls(PeriodIn, sent=sent, errors=wrong), method="get"
        )
        return self.show(status=400 if wrong else 200, form=form)


class BooksFile(Books):
    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = PeriodIn(data=request.GET.dict())
        return books_file(**shape.validated_data) if shape.is_valid() else super().get(request, **kwargs)


urlpatterns = [
    path("drop-offs/<uuid:uid>/money", Money.as_view(), name="money"),
    path("drop-offs/<uuid:uid>/bill", MakeBill.as_view(), name="make_bill"),
    path("drop-offs/<uuid:uid>/pay", MarkPaid.as_view(), name="mark_paid"),
    path("payments/<uuid:uid>/take-back", TakeBackPayment.as_view(), name="take_back_payment"),
    path("bills/<uuid:uid>", OneBill.as_view(), name="bill"),
    path("bills/<uuid:uid>/bill.pdf", PaperPage.as_view(read=bill_paper), name="bill_paper"),
    path("bills/<uuid:uid>/counter", CounterBill.as_view(), name="counter_bill"),
    path("office/books", Books.as_view(), name="books"),
    path("office/books.csv", BooksFile.as_view(), name="books_file"),
]
