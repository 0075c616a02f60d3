"""Constraints of people's rights that guards break: name, columns or changes, table; and one row of each."""

from typing import Any

from jobs.rights.models import Erasure
from jobs.signoff.models import SignOff, Twin
from shop.files.models import File, Gone
from shop.workshop.reads import now, today
from tests.walk import Walk

ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("erasure_one_open", "rights_erasure.customer_id", "rights_erasure", {}),
    ("signoff_twin_sign_off_id", "signoff_twin.sign_off_id", "signoff_twin", {}),
    ("files_gone_file_id", "files_gone.file_id", "files_gone", {}),
]
ENDED = {"ended_at": "2026-11-27 12:00:00+00:00", "ended_by_id": 1}
KNOWN: list[tuple[str, str, dict[str, Any]]] = [
    ("erasure_ended_how", "rights_erasure", {"closed_why": "Taken back."}),
    ("erasure_ended_how", "rights_erasure", ENDED),
    ("erasure_by_two", "rights_erasure", ENDED | {"second_id": 1}),
]


def asked(walk: Walk) -> None:
    """A request to be erased, the twin of a record, and a file whose bytes are gone."""
    by = walk.house.people["lead"]
    Erasure.objects.create(customer=walk.house.customer, reason="By post.", asked_on=today(), at=now(), by=by)
    signed = SignOff.objects.order_by("pk")[0]
    same = {
        "record": signed.record,
        "digest": signed.digest,
        "key": signed.key,
        "signature": signed.signature,
    }
    Twin.objects.create(sign_off=signed, at=now(), **same)
    Gone.objects.create(file=File.objects.order_by("pk")[0], at=now())
