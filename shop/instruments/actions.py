"""Add instruments, record their calibrations and our own checks between, and tell when one was found bad."""

from datetime import date

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from shop.files.actions import keep_document, keep_photograph
from shop.files.models import Document, Photograph
from shop.files.reads import Picture
from shop.instruments.models import BadPeriod, Calibration, Check, Instrument
from shop.instruments.reads import thing
from shop.instruments.rules import Found, Of, Tester, finding_refusals, last_looked
from shop.journal.actions import write
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import say_cylinders_tested
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def add_instrument(
    *,
    by: Person,
    code: str,
    name: str,
    kind: str,
    unit: str,
    resolution: str,
    full_scale: str = "",
    accuracy: str = "",
    accuracy_of: str = Of.SCALE.value,
) -> Instrument:
    """Add an instrument; it may be used once a calibration covers the day."""
    require(by, Can.KEEP_INSTRUMENTS)
    told = {"resolution": resolution, "full_scale": full_scale, "accuracy": accuracy}
    told |= {"accuracy_of": accuracy_of}
    with transaction.atomic():
        row, made = Instrument.objects.get_or_create(
            code=code, defaults={"name": name, "kind": kind, "unit": unit} | told
        )
        if not made:
            refuse([Refusal("code-taken", "Another instrument has this code.", "code")])
        put(thing=thing(row))
        write(
            subject=f"instrument:{row.uid}",
            by=str(by.uid),
            verb="added",
            facts={"code": code, "kind": kind} | told,
        )
    return row


def calibrate(
    *,
    by: Person,
    instrument: Instrument,
    done_on: date,
    good_to: date,
    certificate: str,
    found: str = Found.NOT_SAID.value,
) -> Instrument:
    """Record a calibration; one that found the instrument bad leaves it good, and in doubt what it measured before."""
    require(by, Can.KEEP_INSTRUMENTS)
    refusals = finding_refusals(done_on, today()) if found == Found.BAD else []
    if good_to < done_on:
        said = "It cannot be good to a day before it was done."
        refusals.append(Refusal("period", said, "good_to"))
    refuse(refusals)
    with transaction.atomic():
        instrument = _locked(instrument)
        before = _days(instrument)
        Calibration.objects.create(
            instrument=instrument, done_on=done_on, good_to=good_to, certificate=certificate, found=found,
            recorded_at=now(), recorded_by=by,
        )  # fmt: skip
        facts = {"done_on": str(done_on), "good_to": str(good_to), "certificate": certificate}
        facts |= {"found": found}
        write(subject=f"instrument:{instrument.uid}", by=str(by.uid), verb="calibrated", facts=facts)
        if found == Found.BAD:
            why = (
                f"{instrument.code} was found bad at its calibration on {done_on}, certificate {certificate}."
            )
            _found_bad(by, instrument, last_looked(before, done_on), done_on, why)
    return instrument


def check(
    *,
    by: Person,
    instrument: Instrument,
    done_on: date,
    against: str,
    deviation: str,
    found: str,
    done_by: Person | None = None,
) -> Instrument:
    """Record a check of our own; an instrument found bad supports nothing until it is calibrated again."""
    require(by, Can.KEEP_INSTRUMENTS)
    refuse(finding_refusals(done_on, today()))
    with transaction.atomic():
        instrument = _locked(instrument)
        before = _days(instrument)
        row = Check.objects.create(
            instrument=instrument, done_on=done_on, against=against, deviation=deviation, found=found,
            done_by=done_by or by, recorded_at=now(), recorded_by=by,
        )  # fmt: skip
        facts = {"done_on": str(done_on), "against": against, "deviation": deviation, "found": found}
        facts |= {"by": str(row.done_by.uid)}
        write(subject=f"instrument:{instrument.uid}", by=str(by.uid), verb="checked", facts=facts)
        if found == Found.BAD:
            off = f"{deviation} {instrument.unit} against {against}"
            why = f"{instrument.code} was found bad by our own check on {done_on}: {off}."
            # It may have been used since, up to the moment in which this is recorded.
            _found_bad(by, instrument, last_looked(before, done_on), today(), why)
    return instrument


def photograph_certificate(
    *, by: Person, calibration: Calibration, photograph: Picture, words: str
) -> Photograph:
    """Keep a photograph of a calibration's certificate."""
    require(by, Can.KEEP_INSTRUMENTS)
    with transaction.atomic():
        instrument = _locked(calibration.instrument)
        return keep_photograph(
            by=str(by.uid), subject=calibration.subject, chain=f"instrument:{instrument.uid}",
            picture=photograph, words=words,
        )  # fmt: skip


def keep_certificate(*, by: Person, calibration: Calibration, document: bytes) -> Document:
    """Keep a calibration's certificate as the PDF that came."""
    require(by, Can.KEEP_INSTRUMENTS)
    with transaction.atomic():
        instrument = _locked(calibration.instrument)
        return keep_document(
            by=str(by.uid), subject=calibration.subject, chain=f"instrument:{instrument.uid}", pdf=document
        )


def say_who_tests_cylinders(*, by: Person, tested_by: str) -> None:
    """Say whether this workshop may pressure-test cylinders itself; what was recorded before stays as it is."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        say_cylinders_tested(may=tested_by == Tester.OURSELVES)
        write(
            subject="workshop",
            by=str(by.uid),
            verb="settings changed",
            facts={"cylinders tested by": tested_by},
        )


def _locked(instrument: Instrument) -> Instrument:
    """Its row, locked beside those who only point at it: they hold their job, which the rooms above ask for next."""
    return Instrument.objects.select_for_update(no_key=True).get(pk=instrument.pk)


def _days(instrument: Instrument) -> list[date]:
    """Each day on which it was looked at."""
    calibrations, checks = instrument.calibrations.order_by("pk"), instrument.checks.order_by("pk")
    return [*(row.done_on for row in calibrations), *(row.done_on for row in checks)]


def _found_bad(by: Person, instrument: Instrument, first: date | None, last: date, why: str) -> None:
    """Let the rooms above see which days are in doubt; nothing can rest on what was never looked at."""
    if first is None:
        return
    row = BadPeriod.objects.create(
        instrument=instrument, from_day=first, to_day=last, why=why[:300], at=now()
    )
    for name in settings.AFTER_FOUND_BAD:
        import_string(name)(by=by, period=row)
