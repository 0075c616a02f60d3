"""The API's doors to instruments."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.instruments import actions
from shop.instruments.models import Instrument
from shop.instruments.shapes import CalibrationIn, InstrumentIn, InstrumentOut
from shop.staff.reads import require
from shop.staff.rules import Can


class Instruments(Door):
    @reads(InstrumentOut, many=True)
    def get(self, request: Request) -> Any:
        """Bench instruments with their calibrations."""
        require(self.by, Can.SEE)
        return Instrument.objects.prefetch_related("calibrations")

    @verb(InstrumentIn, InstrumentOut, creates=True)
    def post(self, request: Request, data: Any) -> Instrument:
        """Add an instrument."""
        return actions.add_instrument(by=self.by, **data)


class Calibrations(Door):
    @verb(CalibrationIn, InstrumentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Instrument:
        """Record a calibration."""
        return actions.calibrate(by=self.by, instrument=get_object_or_404(Instrument, uid=uid), **data)


urlpatterns = [
    path("instruments", Instruments.as_view(), name="instruments"),
    path("instruments/<uuid:uid>/calibrations", Calibrations.as_view(), name="calibrations"),
]
