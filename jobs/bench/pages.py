"""What the page of a test asks a person to type."""

from collections.abc import Iterable, Mapping
from typing import Any

from jobs.bench.methods.asked import Ask, Choice, Figure, Rows
from jobs.bench.methods.units import symbol
from jobs.bench.reads import why_again
from jobs.flow.models import Job
from shop.catalogue.rules import BenchTest
from shop.web.shapes import Control, Form


def asked_controls(asks: Iterable[Ask], sent: Mapping[str, Any], *, listed: bool = False) -> list[Control]:
    """A control for each figure, table and choice that a method asks for, with what was sent.

    The functions of a list have large buttons, for wet hands, and stay empty until they were tried.
    """
    found = [_control(ask, str(sent.get(f"figures.{ask.key}", ""))) for ask in asks]
    for control in found if listed else ():
        control.may = "until it is tried"
        if control.kind == "select":
            control.kind = "radio"
    return found


def ask_why_again(form: Form, job: Job, asked: BenchTest | None, phase: str) -> None:
    """The reason for doing a test again is asked for where one is needed, and nowhere else."""
    form.ask_if("why_again", needed=asked is not None and bool(why_again(job, asked, phase)))


def _control(ask: Ask, value: str) -> Control:
    made = Control(
        name=f"figures.{ask.key}",
        label=ask.label,
        kind="text",
        value=value,
        help=ask.words,
        required=not ask.optional,
        may="optional" if ask.optional else "",
        sent=bool(value),
    )
    match ask:
        case Figure() if ask.unit:
            made.unit = symbol(ask.unit)
        case Rows():
            made.kind = "textarea"
            named = zip(ask.columns, ask.units, strict=True)
            columns = ", ".join(f"{name} in {symbol(unit)}" if unit else name for name, unit in named)
            made.help = f"{ask.words} One line each: {columns}, with a blank between.".strip()
        case Choice():
            made.kind = "select"
            made.choices = [{"value": each, "label": each, "selected": each == value} for each in ask.options]
    return made
