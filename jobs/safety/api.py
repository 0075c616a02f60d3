"""The API's doors to safety notices."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.safety import actions
from jobs.safety.models import Notice
from jobs.safety.reads import notices
from jobs.safety.shapes import (
    NoticeIn,
    NoticeOut,
    TitledIn,
    WithdrawIn,
)
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot


class Notices(Door):
    @reads(NoticeOut, many=True)
    def get(self, request: Request) -> Any:
        """Every safety notice, newest first."""
        require(self.by, Can.SEE)
        return notices()

    @verb(NoticeIn, NoticeOut, creates=True)
    def post(self, request: Request, data: Any) -> Notice:
        """Make a safety notice: its lots are blocked at once, items are looked through within seconds."""
        return actions.make_notice(by=self.by, **data)


class Withdraw(Door):
    @verb(WithdrawIn, NoticeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Notice:
        """Withdraw a notice: it stops nothing any more."""
        return actions.withdraw_notice(by=self.by, notice=get_object_or_404(Notice, uid=uid), **data)


class LotNotice(Door):
    @verb(TitledIn, NoticeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Notice:
        """Make a safety notice that names one lot of the store."""
        lot = get_object_or_404(Lot.objects.select_related("part"), uid=uid)
        return actions.notice_of_lot(by=self.by, lot=lot, **data)


urlpatterns = [
    path("notices", Notices.as_view(), name="notices"),
    path("notices/<uuid:uid>/withdrawals", Withdraw.as_view(), name="withdraw_notice"),
    path("lots/<uuid:uid>/notices", LotNotice.as_view(), name="lot_notice"),
]
