"""A drop-off with lines, a supplement that waits, a bill and a deposit."""

from datetime import date
from typing import Any

from jobs.bills.actions import make_bill, mark_paid
from jobs.estimates.actions import add_charge, ask_supplement
from shop.money.actions import set_rate
from tests.conftest import Api, House
from tests.walk import Walk, ok


def charged(house: House, api: dict[str, Api]) -> dict[str, Any]:
    """Rows by name; the lines without a job may be billed at once."""
    counter, lead = house.people["counter"], house.people["lead"]
    set_rate(by=lead, name="usual", share=20_000, from_day=date(2026, 1, 1))
    walk = Walk(house, api)
    ok(walk.go_ahead("500.00"), 201)
    job = walk.row
    given: dict[str, Any] = {"by": counter, "drop_off": job.drop_off}
    first = add_charge(what="Hose", amount=2400, rate="usual", discount=100, reason="A comeback.", **given)
    bill = make_bill(payer="customer", **given)
    likely = add_charge(what="Mouthpiece", amount=500, likely=True, **given)
    charge = add_charge(what="Postage", amount=700, **given)
    supplement = ask_supplement(by=counter, job=job, what="A cracked yoke", amount=6000)
    return {
        "priced_job": job, "priced": job.drop_off, "first_charge": first, "likely": likely, "charge": charge,
        "supplement": supplement, "bill": bill,
        "payment": mark_paid(kind="deposit", amount=2000, way="cash", **given),
    }  # fmt: skip
