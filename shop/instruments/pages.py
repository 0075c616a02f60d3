"""The Office's pages of instruments."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.files.models import Document, Photograph
from shop.files.reads import attached, documents, shown, stored
from shop.files.rules import PDF
from shop.gear.pages import NewPhotograph
from shop.instruments import actions
from shop.instruments.models import Calibration, Instrument
from shop.instruments.reads import instruments, who_tests_cylinders
from shop.instruments.rules import CERTIFICATE
from shop.instruments.shapes import CalibrationIn, CheckIn, CylindersIn, DocumentIn, InstrumentIn
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import today


class Instruments(Page):
    template, room = "instruments/instruments.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        day = today()
        shown = [
            {"row": row, "good": row.calibration_on(day), "to": row.calibrated_to, "fault": row.fault_on(day)}
            for row in instruments().order_by("code")
        ]
        return {
            "instruments": shown,
            "tester": who_tests_cylinders(),
            "may_set": self.by.may(Can.KEEP_PLANS),
            "may_keep": self.by.may(Can.KEEP_INSTRUMENTS),
            "may_doubt": self.by.may(Can.DOUBT),
        }


class OneInstrument(Page):
    """An instrument with everything by which it was found good or bad, newest first."""

    template, room = "instruments/instrument.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row = get_object_or_404(instruments(), uid=kwargs["uid"])
        day, calibrations = today(), row.calibrations.order_by("-done_on", "-pk")
        certificates = {each.subject: each.certificate for each in calibrations}
        photographs, files = list(shown(certificates)), list(documents(certificates))
        told: list[Photograph | Document] = [*photographs, *files]
        for each in told:
            each.of = f"certificate {certificates[each.subject]}"
        return {
            "instrument": row,
            "good": row.calibration_on(day),
            "fault": row.fault_on(day),
            "calibrations": calibrations,
            "checks": row.checks.select_related("done_by").order_by("-done_on", "-pk"),
            "bad_periods": row.bad_periods.order_by("-pk"),
            "photographs": photographs,
            "documents": files,
            "may_keep": self.by.may(Can.KEEP_INSTRUMENTS),
            "may_doubt": self.by.may(Can.DOUBT),
        }


class NewInstrument(FormPage):
    takes, title, room, button, cancel = InstrumentIn, "New instrument", "office", "Add it", "instruments"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_instrument(by=self.by, **data)
        return reverse("instruments")


class Calibrate(FormPage):
    takes, title, room, button = CalibrationIn, "Record a calibration", "office", "Record it"

    def back(self) -> str:
        return reverse("instrument", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        instrument = get_object_or_404(Instrument, uid=self.kwargs["uid"])
        actions.calibrate(by=self.by, instrument=instrument, **data)
        return self.back()


class NewCheck(FormPage):
    takes, title, room, button = CheckIn, "Record a check of our own", "office", "Record it"

    def back(self) -> str:
        return reverse("instrument", args=[self.kwargs["uid"]])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).order_by("name", "pk")
        return {"done_by": [(person.uid, person.name) for person in people]}

    def start(self) -> Mapping[str, Any]:
        return {"done_on": today().isoformat()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        instrument = get_object_or_404(Instrument, uid=self.kwargs["uid"])
        actions.check(by=self.by, instrument=instrument, **data)
        return self.back()


class Cylinders(FormPage):
    takes, title, room, button, cancel = CylindersIn, "Who tests cylinders", "office", "Save", "instruments"
    lead = "What was recorded before stays as it is."

    def start(self) -> Mapping[str, Any]:
        return {"tested_by": str(who_tests_cylinders())}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.say_who_tests_cylinders(by=self.by, **data)
        return reverse("instruments")


class OfCalibration(FormPage):
    """The base of the forms that keep a certificate."""

    room = "office"

    def calibration(self) -> Calibration:
        rows = Calibration.objects.select_related("instrument")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("instrument", args=[self.calibration().instrument.uid])


class NewCertificatePhotograph(OfCalibration, NewPhotograph):
    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_certificate(by=self.by, calibration=self.calibration(), **data)
        return self.back() + "#photographs"


class NewCertificateDocument(OfCalibration):
    takes, title, button = DocumentIn, "Keep a certificate as PDF", "Keep the file"
    lead = "It is kept with your name and the time, and never changed or thrown away."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.keep_certificate(by=self.by, calibration=self.calibration(), **data)
        return self.back() + "#documents"


class OneDocument(Page):
    """The file of a certificate, to be taken away: it is never opened here."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        row = get_object_or_404(Document.objects.select_related("file"), file__gone=None, uid=kwargs["uid"])
        return attached(stored(row.file), PDF, CERTIFICATE)


urlpatterns = [
    path("office/instruments", Instruments.as_view(), name="instruments"),
    path("office/cylinder-tests", Cylinders.as_view(), name="cylinder_tests"),
    path("office/instruments/new", NewInstrument.as_view(), name="new_instrument"),
    path("office/instruments/<uuid:uid>", OneInstrument.as_view(), name="instrument"),
    path("office/instruments/<uuid:uid>/calibrate", Calibrate.as_view(), name="calibrate"),
    path("office/instruments/<uuid:uid>/checks/new", NewCheck.as_view(), name="check_instrument"),
    path(
        "office/calibrations/<uuid:uid>/photographs/new",
        NewCertificatePhotograph.as_view(),
        name="photograph_certificate",
    ),
    path(
        "office/calibrations/<uuid:uid>/documents/new",
        NewCertificateDocument.as_view(),
        name="keep_certificate",
    ),
    path("documents/<uuid:uid>", OneDocument.as_view(), name="document"),
]
