"""What people of the demo do with gear, one verb each, and a job from the counter to the counter."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from jobs.advance.actions import advance
from jobs.bench.actions import record_test
from jobs.bench.methods.judging import Given
from jobs.bench.reads import Source
from jobs.checkin.actions import check_in
from jobs.condition.actions import look
from jobs.demo import rules
from jobs.demo.management.commands._house import House
from jobs.estimates.actions import take_go_ahead
from jobs.flow.models import DropOff, Job
from jobs.handback.actions import hand_back
from jobs.planning.actions import assign
from jobs.signoff.actions import sign_off
from jobs.tray.actions import end_part
from jobs.worksheet.actions import do_step
from shop.gear.models import Item
from shop.stock.models import Lot

READINGS = {"low_supply": ("9.42", "bar"), "supply_drop": ("0.2", "bar")}


def dropped_off(
    house: House, items: Sequence[Item], key: str, promised_on: date, words: str = "", **more: Any
) -> list[Job]:
    """The items of one customer come in under one kind of plan; their jobs."""
    lines: Any = [
        {"item": item, "plan": house.plans[item.model_id, key], "contents": "no gas", "condition": "",
         "words": words} | more
        for item in items
    ]  # fmt: skip
    customer = next(each for each in house.customers if each.pk == items[0].owner_id)
    drop_off = check_in(by=house.people["counter"], customer=customer, promised_on=promised_on, lines=lines)
    return list(Job.objects.filter(drop_off=drop_off).order_by("pk"))


def looked_at(house: House, job: Job) -> None:
    """Its condition list is gone through as it comes."""
    seen = rules.SEEN.get(job.item.model.kind, {})
    given: Any = [
        {"said": "seen", "note": seen[n]} if n in seen else {} for n in range(max(seen, default=-1) + 1)
    ]
    piece = {"line": job.line, "version": 0, "rest_fine": True, "answers": given}
    look(by=house.people["counter"], drop_off=job.drop_off, pieces=[piece])


def agreed(house: House, drop_off: DropOff) -> None:
    """The customer lets us work for what the plans come to."""
    price = sum(job.plan.price for job in Job.objects.filter(drop_off=drop_off))
    take_go_ahead(
        by=house.people["counter"], drop_off=drop_off, amount=price, given_by=drop_off.customer.name,
        how="in person",
    )  # fmt: skip


def walked(house: House, job: Job, leg: str, dives: int = 0) -> None:
    """A job that somebody agreed to goes on until it is on a leg; on testing nothing is tested yet."""
    legs = job.plan.legs
    if leg == "checked_in":
        return
    assign(by=house.people["lead"], job=job, technician=house.people["technician"], seen=job.version)
    for to in legs[1 : legs.index(leg) + 1]:
        _finished(house, job)
        if to == "signed_off":
            signed(house, job, tested(house, job, dives))
        else:
            job.refresh_from_db()
            advance(by=house.people["technician"], job=job, to=to, seen=job.version, reason="")
            job.refresh_from_db()


def _finished(house: House, job: Job) -> None:
    """All that the leg of a job asks for before the next is entered."""
    stepped(house, job, len(job.plan.steps))
    if job.leg == "stripping":
        for part in job.plan.parts:
            ended(house, job, part.key)


def stepped(house: House, job: Job, most: int) -> None:
    """The first steps of the leg that a job is on are done, one of alternatives, with every loose part counted."""
    chosen: set[str] = set()
    for step in [step for step in job.plan.steps if step.leg == job.leg][:most]:
        if step.choice in chosen:
            continue
        chosen |= {step.choice} if step.choice else set()
        do_step(
            by=house.people["technician"], job=job, key=step.key,
            counted=sum(part.pieces for part in job.plan.freed(step)) or None, torque_n_m=step.torque_n_m,
            wrench=house.instruments["torque wrench"] if step.torque_n_m else None,
        )  # fmt: skip


def ended(house: House, job: Job, key: str) -> None:
    """A loose part is looked at and reused, or renewed from the lot that ends first but lasts long enough."""
    part = job.plan.part(key)
    assert part is not None
    lots = Lot.objects.filter(part__number=part.renew, number__endswith="-A")
    end_part(
        by=house.people["technician"], job=job, key=key, ending="renewed" if part.renew else "reused",
        lot=lots.get() if part.renew else None,
    )  # fmt: skip


def tested(house: House, job: Job, dives: int) -> bool:
    """Every test of the plan is done on gear with so many dives since it was new; whether all is within."""
    verdicts = []
    for asked in job.plan.tests:
        if asked.method == "finding":
            source, given = Source(None), Given(finding="pass")
        elif asked.functions:
            figures = {each.key: "pass" for each in asked.functions}
            figures |= {f"{each.key}_figure": READ[each.key] for each in asked.functions if each.unit}
            source = Source(house.instruments[asked.needs] if asked.needs else None)
            given = Given(figures=figures)
        else:
            source, given = Source(house.instruments[asked.needs]), _measured(job, asked.key, dives)
        row = record_test(
            by=house.people["technician"], job=job, key=asked.key, phase="final", source=source, given=given
        )
        verdicts.append(row.verdict)
    return set(verdicts) <= {"within", "pass"}


# What the demo's jackets read, in mbar.
READ = {"opens": "148", "closes": "121", "leak_down": "2"}


def _measured(job: Job, key: str, dives: int) -> Given:
    serial = job.item.marks
    if key == "intermediate_pressure":
        return Given(trace=rules.trace(serial, job.number, dives))
    if key == "cracking":  # the spring and the seat settle: a little harder each year
        return Given(figures={"first": f"{2.4 + 0.8 * rules.dice('cracking', serial) + 0.002 * dives:.2f}"})
    if key == "exhalation":
        return Given(figures={"first": "4.2", "rate": "15"})
    return Given(*READINGS[key])


def signed(house: House, job: Job, well: bool) -> None:
    """A round is signed off, as serviced or as failed."""
    second = house.people["inspector"] if well and job.plan.second_person else None
    job.refresh_from_db()
    sign_off(
        by=house.people["technician"], job=job, seen=job.version, outcome="serviced" if well else "failed",
        words="" if well else "A figure is not within its limits. It wants an overhaul before it dives.",
        secret=house.secrets["technician"], second=second,
        second_secret=house.secrets["inspector"] if second else "",
    )  # fmt: skip
    job.refresh_from_db()


def collected(house: House, jobs: Sequence[Job]) -> None:
    """The customer collects all that is signed off, and is told when it is no gear to dive with."""
    drop_off = DropOff.objects.select_related("customer").get(pk=jobs[0].drop_off_id)
    hand_back(
        by=house.people["counter"], drop_off=drop_off, seen=drop_off.version,
        collector=drop_off.customer.name, items=[job.item.label for job in jobs],
        acknowledged=any(job.outcome != "serviced" for job in jobs),
    )  # fmt: skip


def in_days(day: date, n: int) -> date:
    """So many days later."""
    return day + timedelta(days=n)
