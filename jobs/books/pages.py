"""What a drop-off costs; papers about money; the books as a file."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.bills.reads import account, rounding_words
from jobs.books.api import books_file
from jobs.books.reads import bill_paper, estimate_paper
from jobs.books.shapes import PeriodIn
from jobs.estimates.rules import total
from jobs.flow.models import DropOff
from shop.paper.pages import PaperPage
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page
from shop.web.shapes import Form, controls
from shop.workshop.rules import money, priced


class Money(Page):
    template, room = "books/money.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row = get_object_or_404(DropOff.objects.select_related("customer"), uid=kwargs["uid"])
        found = account(row)
        code, est = found.currency, found.estimate
        trays = {job.pk: job for job in row.jobs.select_related("item__model")}
        lines = [
            {
                "entry": each,
                "said": money(each.value, code),
                "full": priced(each.amount, code),
                "less": priced(each.discount, code),
                "tax": each.rate.said,
                "job": trays.get(each.job) if each.job else None,
            }
            for each in est.entries
        ]
        payers = [
            (
                payer,
                [(g.rate.said, *(money(n, code) for n in (g.net, g.tax, g.gross))) for g in each.groups],
                [money(n, code) for n in (each.net, each.tax, each.gross)],
                rounding_words(each.coin, each.rounding, code),
            )
            for payer, each in est.payers.items()
        ]
        open_ = {
            payer: priced(total(rows, est.terms, payer=payer).payable, code)
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
            "billed": priced(found.billed, code), "paid": priced(found.paid, code), "due": found.balance,
            "owes": found.due > 0,
            "may_take": self.by.may(Can.TAKE_GO_AHEAD), "may_bill": self.by.may(Can.BILL),
        }  # fmt: skip


class Books(Page):
    """A period to choose; a period that cannot be read is refused."""

    template, room = "books/books.html", "office"

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
    path("drop-offs/<uuid:uid>/estimate.pdf", PaperPage.as_view(read=estimate_paper), name="estimate_paper"),
    path("bills/<uuid:uid>/bill.pdf", PaperPage.as_view(read=bill_paper), name="bill_paper"),
    path("office/books", Books.as_view(), name="books"),
    path("office/books.csv", BooksFile.as_view(), name="books_file"),
]
