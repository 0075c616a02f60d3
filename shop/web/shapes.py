"""From a shape (a DRF serializer) to what the form template draws; so pages and API share one set of inputs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from rest_framework import serializers

from shop.workshop.rules import Refusal, Unit, counted_in

UNCHOSEN = {
    '"" is not a valid choice.': "Choose one."
}  # the library's sentence for a select that was left alone


@dataclass
class Control:
    """One control of a form, as `web/fields.html` draws it; values are text as sent or to be sent."""

    name: str
    label: str
    kind: str
    value: Any = ""
    help: str = ""
    unit: str = ""
    required: bool = False
    may: str = ""  # the word beside the label of a field that may stay empty
    errors: list[str] = field(default_factory=list)
    choices: list[dict[str, Any]] = field(default_factory=list)
    autocomplete: str = ""
    inputmode: str = ""
    attrs: dict[str, Any] = field(default_factory=dict)
    blank: bool = True  # whether a select has an empty choice
    sent: bool = False  # whether somebody typed or chose it

    @property
    def id(self) -> str:
        return self.name.replace("[", "-").replace("]", "-").replace(".", "-").strip("-")


@dataclass
class Form:
    """One form of a page."""

    action: str
    button: str
    fields: list[Control]
    hidden: list[dict[str, Any]] = field(default_factory=list)
    note: str = ""
    cancel_url: str = ""
    multipart: bool = False
    keep: str = ""
    button_class: str = ""
    method: str = "post"
    refusals: list[Refusal] = field(default_factory=list)
    folded: list[Control] = field(default_factory=list)
    fold_label: str = ""
    look: str = ""  # a second button that sends the form only to be looked at

    @property
    def wrong(self) -> list[Control]:
        """The fields with errors."""
        return [control for control in (*self.fields, *self.folded) if control.errors]

    @property
    def unfolded(self) -> bool:
        """Whether what is folded away is shown: something in it was typed, is wrong, or is what a refusal points at."""
        asked = {refusal.pointer for refusal in self.refusals}
        return any(control.errors or control.sent or control.name in asked for control in self.folded)

    def ask_if(self, name: str, *, needed: bool) -> None:
        """A field is required where it is needed, and not there where it is not."""
        self.fields = [control for control in self.fields if needed or control.name != name]
        for control in self.fields:
            if control.name == name:
                control.required, control.may = True, ""

    def count_in(self, unit: str) -> None:
        """Fields that count pieces ask for a part's own unit instead."""
        for control in (*self.fields, *self.folded):
            if control.unit == counted_in(Unit.PIECE):
                control.unit = counted_in(unit)

    def fold(self, names: Iterable[str], label: str) -> None:
        """Put what is seldom asked for below the rest, folded away under a label."""
        names = list(names)
        self.folded = [control for control in self.fields if control.name in names]
        self.fields = [control for control in self.fields if control.name not in names]
        self.fold_label = label


def controls(
    shape: type[serializers.Serializer[Any]],
    *,
    sent: Mapping[str, Any] | None = None,
    errors: Mapping[str, Any] | None = None,
    choices: Mapping[str, Iterable[tuple[Any, ...]]] | None = None,
    skip: Iterable[str] = (),
) -> list[Control]:
    """A control for each field of a shape; `choices` turns a field into a select of (value, label), or says of several which.

    A third part says what a choice is of: of two such lists beside each other, the second offers what is of the same.
    """
    sent, errors, choices = sent or {}, errors or {}, choices or {}
    made = []
    for name, each in shape().fields.items():
        if (
            each.read_only
            or name in skip
            or isinstance(each, serializers.ListSerializer | serializers.DictField)
        ):
            continue
        kind = _kind(each)
        kind = str(each.style.get("kind") or ("select" if name in choices and kind != "multi" else kind))
        value = sent.get(name, "" if each.initial is None else each.initial)
        value = value.isoformat() if kind == "date" and isinstance(value, date) else value
        options = choices[name] if name in choices else getattr(each, "choices", {}).items()
        required = each.required and kind != "checkbox" and not may_be_empty(each)
        blank = not each.initial or may_be_empty(each)
        made.append(
            Control(
                name=name,
                label=str(each.label),
                kind=kind,
                value=value,
                help=str(each.help_text or ""),
                unit=str(each.style.get("unit", "") or getattr(each, "unit", "")),
                required=required,
                may="optional" if not required and (kind != "select" or blank) else "",
                sent=bool(value) and str(value) != str(each.initial),
                errors=[UNCHOSEN.get(str(error), str(error)) for error in _flat(errors.get(name, []))],
                choices=[
                    {"value": v, "label": label, "of": of, "selected": str(v) in _chosen(sent, name, value)}
                    for v, label, *of in options
                ],
                blank=blank,
                autocomplete=str(each.style.get("autocomplete", "")),
                inputmode=str(each.style.get("inputmode", "")),
                attrs=({"maxlength": most} if (most := getattr(each, "max_length", None)) else {})
                | each.style.get("attrs", {}),
            )
        )
    return made


def may_be_empty(each: serializers.Field[Any, Any, Any, Any]) -> bool:
    """Whether a control of the field may stay empty on a page."""
    return bool(each.allow_null or getattr(each, "allow_blank", False))


def _chosen(sent: Mapping[str, Any], name: str, value: Any) -> set[str]:
    many = sent.getlist(name) if hasattr(sent, "getlist") and name in sent else value
    return {str(each) for each in many} if isinstance(many, list | set | tuple) else {str(many)}


def _flat(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return [f"{key}: {error}" for key, each in value.items() for error in _flat(each)]
    return [error for each in value for error in _flat(each)] if isinstance(value, list) else [value]


def _kind(each: serializers.Field[Any, Any, Any, Any]) -> str:
    kinds: list[tuple[Any, str]] = [
        (serializers.EmailField, "email"),
        (serializers.DateField, "date"),
        (serializers.MultipleChoiceField, "multi"),
        (serializers.ChoiceField, "select"),
        (serializers.BooleanField, "checkbox"),
        (serializers.IntegerField, "number"),
        (serializers.FileField, "file"),
    ]
    return next((kind for field_class, kind in kinds if isinstance(each, field_class)), "text")
