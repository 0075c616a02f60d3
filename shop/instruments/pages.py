"""The Office's pages of instruments."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.files.reads import shown
from shop.gear.pages import NewPhotograph
from shop.instruments import actions
from shop.instruments.models import Calibration, Instrument
from shop.instruments.reads import instruments, who_tests_cylinders
from shop.instruments.shapes import CalibrationIn, CheckIn, CylindersIn, InstrumentIn
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
        photographs = list(shown(certificates))
        for photograph in photographs:
            photograph.of = f"certificate {certificates[photograph.subject]}"
        return {
            "instrument": row,
            "good": row.calibration_on(day),
            "fault": row.fault_on(day),
            "calibrations": calibrations,
            "checks": row.checks.select_related("done_by").order_by("-done_on", "-pk"),
            "bad_periods": row.bad_periods.order_by("-pk"),
            "photographs": photographs,
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


class NewCertificatePhotograph(NewPhotograph):
    room = "office"

    def calibration(self) -> Calibration:
        rows = Calibration.objects.select_related("instrument")
        return get_object_or_404(rows, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("instrument", args=[self.calibration().instrument.uid])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_certificate(by=self.by, calibration=self.calibration(), **data)
        return self.back() + "#photographs"


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
]
