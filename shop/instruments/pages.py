"""The Office's pages of instruments."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.instruments import actions
from shop.instruments.models import Instrument
from shop.instruments.shapes import CalibrationIn, InstrumentIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import today


class Instruments(Page):
    template, room = "instruments/instruments.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = Instrument.objects.prefetch_related("calibrations").order_by("code")
        day = today()
        shown = [{"row": row, "good": row.calibration_on(day), "to": row.calibrated_to} for row in rows]
        return {
            "instruments": shown,
            "may_keep": self.by.may(Can.KEEP_INSTRUMENTS),
            "may_doubt": self.by.may(Can.DOUBT),
        }


class NewInstrument(FormPage):
    takes, title, room, button, cancel = InstrumentIn, "New instrument", "office", "Add it", "instruments"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_instrument(by=self.by, **data)
        return reverse("instruments")


class Calibrate(FormPage):
    takes, title, room, button, cancel = (
        CalibrationIn,
        "Record a calibration",
        "office",
        "Record it",
        "instruments",
    )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        instrument = get_object_or_404(Instrument, uid=self.kwargs["uid"])
        actions.calibrate(by=self.by, instrument=instrument, **data)
        return reverse("instruments")


urlpatterns = [
    path("office/instruments", Instruments.as_view(), name="instruments"),
    path("office/instruments/new", NewInstrument.as_view(), name="new_instrument"),
    path("office/instruments/<uuid:uid>/calibrate", Calibrate.as_view(), name="calibrate"),
]
