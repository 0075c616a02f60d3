"""The API's doors to instruments."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from shop.api.api import JSON, Door, reads, sends, verb
from shop.files.models import Document, Photograph
from shop.files.reads import documents, photographs, stored
from shop.files.rules import PDF
from shop.gear.shapes import PhotographIn, PhotographOut
from shop.instruments import actions
from shop.instruments.models import Calibration, Instrument
from shop.instruments.reads import instruments, who_tests_cylinders
from shop.instruments.rules import CERTIFICATE
from shop.instruments.shapes import (
    CalibrationIn,
    CheckIn,
    CylindersIn,
    CylindersOut,
    DocumentIn,
    DocumentOut,
    InstrumentIn,
    InstrumentOut,
)
from shop.staff.reads import require
from shop.staff.rules import Can


def whole() -> QuerySet[Instrument]:
    """Instruments with what their shape shows."""
    return instruments().prefetch_related("checks__done_by")


class Instruments(Door):
    @reads(InstrumentOut, many=True)
    def get(self, request: Request) -> Any:
        """Bench instruments with their calibrations and our own checks."""
        require(self.by, Can.SEE)
        return whole()

    @verb(InstrumentIn, InstrumentOut, creates=True)
    def post(self, request: Request, data: Any) -> Instrument:
        """Add an instrument."""
        return actions.add_instrument(by=self.by, **data)


class Calibrations(Door):
    @verb(CalibrationIn, InstrumentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Instrument:
        """Record a calibration."""
        actions.calibrate(by=self.by, instrument=get_object_or_404(Instrument, uid=uid), **data)
        return whole().get(uid=uid)


class Checks(Door):
    @verb(CheckIn, InstrumentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Instrument:
        """Record a check of our own between calibrations."""
        actions.check(by=self.by, instrument=get_object_or_404(Instrument, uid=uid), **data)
        return whole().get(uid=uid)


class CertificatePhotographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of a calibration's certificate, newest first."""
        require(self.by, Can.SEE)
        return photographs([get_object_or_404(Calibration, uid=uid).subject])

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of a calibration's certificate."""
        row = get_object_or_404(Calibration.objects.select_related("instrument"), uid=uid)
        return actions.photograph_certificate(by=self.by, calibration=row, **data)


class CertificateDocuments(Door):
    parser_classes = [MultiPartParser]

    @reads(DocumentOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The files of a calibration's certificate, newest first."""
        require(self.by, Can.SEE)
        return documents([get_object_or_404(Calibration, uid=uid).subject])

    @verb(DocumentIn, DocumentOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Document:
        """Keep a calibration's certificate as the PDF that came."""
        row = get_object_or_404(Calibration.objects.select_related("instrument"), uid=uid)
        return actions.keep_certificate(by=self.by, calibration=row, **data)


class OneDocument(Door):
    def perform_content_negotiation(self, request: Request, force: bool = False) -> tuple[BaseRenderer, str]:
        """Whoever asks for a PDF alone is served too; an error is a problem document as everywhere."""
        return JSONRenderer(), JSON

    @sends(PDF, CERTIFICATE)
    def get(self, request: Request, uid: UUID) -> bytes:
        """The bytes of a certificate's PDF, to be taken away."""
        require(self.by, Can.SEE)
        return stored(
            get_object_or_404(Document.objects.select_related("file"), file__gone=None, uid=uid).file
        )


class Cylinders(Door):
    @reads(CylindersOut)
    def get(self, request: Request) -> Any:
        """Who pressure-tests cylinders: this workshop itself, or an outside station."""
        require(self.by, Can.SEE)
        return {"tested_by": who_tests_cylinders()}

    @verb(CylindersIn, CylindersOut)
    def post(self, request: Request, data: Any) -> Any:
        """Say who pressure-tests cylinders."""
        actions.say_who_tests_cylinders(by=self.by, **data)
        return data


urlpatterns = [
    path("cylinder-tests", Cylinders.as_view(), name="cylinder_tests"),
    path("instruments", Instruments.as_view(), name="instruments"),
    path("instruments/<uuid:uid>/calibrations", Calibrations.as_view(), name="calibrations"),
    path("instruments/<uuid:uid>/checks", Checks.as_view(), name="instrument_checks"),
    path("calibrations/<uuid:uid>/photographs", CertificatePhotographs.as_view(), name="certificate"),
    path("calibrations/<uuid:uid>/documents", CertificateDocuments.as_view(), name="certificate_files"),
    path("documents/<uuid:uid>", OneDocument.as_view(), name="document"),
]
