"""Every column of text of every model: what people write into it, or why they cannot."""

import json
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import CharField, Field, JSONField, Model, TextField

# The keys of free text within columns of JSON.
PLAN = {"title", "name", "label", "source", "cautions", "caution", "tool", "words", "remark", "why"}
RECORD = PLAN | {
    "model", "condition", "accessories", "technician", "by", "omitted", "authorisation", "station",
    "certificate", "lot", "part", "lifted_why", "signed_by", "second", "wrench", "instrument", "single_handed", "override", "lead", "alternative",
}  # fmt: skip
FREE: dict[str, str] = {
    "workshop.Workshop": "name reach hours rounding_source tax_number usual_rate",
    "money.TaxRate": "name",
    "journal.Words": "text",
    "files.Photograph": "words",
    "files.Spot": "words",
    "terms.Terms": "text",
    "condition.ConditionList": "text",
    "condition.Answer": "words note",
    "terms.Accepted": "name",
    "post.Letter": "address subject error",
    "post.Suppressed": "address why",
    "staff.Person": "email name",
    "staff.Authorisation": "maker",
    "staff.Token": "label",
    "search.Findable": "title note",
    "customers.Customer": "name email phone postal",
    "wording.OwnWording": "subject text",
    "catalogue.Model": "maker name revision design",
    "catalogue.PlanVersion": "document",
    "catalogue.Withdrawal": "reason",
    "drafts.Draft": "document",
    "advice.Advice": "what part words source",
    "gear.Identifier": "value",
    "gear.Item": "specification",
    "intervals.Interval": "place document edition section title specification words source",
    "clocks.Restart": "elsewhere",
    "gear.GearSet": "name",
    "instruments.Instrument": "code name",
    "instruments.Calibration": "certificate",
    "instruments.Check": "against",
    "instruments.BadPeriod": "why",
    "stock.Part": "number name maker material life_source size hardness fit_source",
    "stock.Bin": "site label",
    "alternatives.Alternative": "condition source",
    "sites.SiteLevel": "site",
    "counts.Count": "reason",
    "suppliers.Supplier": "name email",
    "suppliers.Offer": "number",
    "orders.Order": "reason",
    "orders.Line": "number",
    "stock.Lot": "number",
    "stock.Movement": "subject",
    "clocks.Clock": "title",
    "flow.Line": "words condition gas accessories",
    "flow.Job": "promised_why",
    "flow.Move": "reason",
    "flow.Hold": "why lifted_why",
    "flow.Custody": "holder seal why",
    "worksheet.StepDone": "omitted noted authorisation",
    "tray.TrayPart": "words authorisation override why",
    "bench.Attempt": "station certificate why_again authorisation",
    "live.Logging": "why_again reason",
    "planning.Takeover": "condition",
    "estimates.GoAhead": "given_by",
    "estimates.Charge": "what reason given_by rate",
    "bills.Bill": "reason document",
    "bills.Payment": "reason",
    "notices.Doubt": "why",
    "notices.Answer": "words",
    "safety.Notice": "title source words ranges lots",
    "safety.Withdrawal": "reason",
    "matches.Answer": "words",
    "answers.Answer": "elsewhere",
    "answers.NewAddress": "email",
    "bookings.Booking": "note",
    "porthole.Question": "text answer",
    "signoff.SignOff": "words single_handed authorisation second_authorisation record",
    "lending.Loan": "note condition",
    "signoff.Twin": "record",
    "rights.Erasure": "reason closed_why",
    "handback.HandBack": "collector",
    "handback.Disposal": "how",
    "batches.Batch": "name columns",
    "evidence.Evidence": "reference found",
    "evidence.EvidenceCustody": "giver holder intact broken why",
    "batches.Finding": "column said",
    "batches.Brought": "old_key",
}
OURS = "made by the house: hashes, uids, keys, verbs, facts, counters, causes"
CHECKED = "a key, figure, unit, day, zone or currency that its shape checks, or one of a list that rules hold"
KEPT: dict[str, tuple[str, str]] = {
    "workshop.Workshop": ("zone currency places closed_weekdays closed_days", CHECKED),
    "intervals.Interval": ("clock", CHECKED),
    "clocks.Tally": ("by", OURS),
    "reminders.Ladder": ("clock rungs", CHECKED),
    "workshop.Counter": ("kind", OURS),
    "signing.SigningKey": ("key public", OURS),
    "journal.Entry": ("subject by verb facts digest previous hash", OURS),
    "journal.Words": ("salt", OURS),
    "files.File": ("sha256 media_type", OURS),
    "files.Photograph": ("subject by", OURS),
    "files.Spot": ("by", OURS),
    "files.Document": ("subject by", OURS),
    "post.Letter": ("recipient run message_id", OURS),
    "api.Answer": ("key digest body", "nothing that a page shows"),
    "staff.Person": ("password signing_secret", "hashes"),
    "staff.Authorisation": ("kind", CHECKED),
    "staff.Token": ("digest token_key scopes", OURS),
    "search.Findable": ("subject kind number address words", OURS),
    "signin.Kept": ("cache_key value", OURS),
    "catalogue.PlanVersion": ("key digest issued_by", OURS),
    "links.Link": ("digest", OURS),
    "bookings.Booking": ("made_by", OURS),
    "drafts.Draft": ("key", CHECKED),
    "gear.Identifier": ("key", OURS),
    "instruments.Instrument": ("kind unit resolution full_scale accuracy", CHECKED),
    "instruments.Check": ("deviation", CHECKED),
    "stock.Part": ("unit life_rule fit_for", CHECKED),
    "stock.Lot": ("cured", CHECKED),
    "stock.Movement": ("by", OURS),
    "clocks.Clock": ("key", CHECKED),
    "clocks.Restart": ("cause by", OURS),
    "clocks.TakenBack": ("by", OURS),
    "flow.Line": ("pressure pressure_unit", CHECKED),
    "flow.Move": ("from_leg to_leg", OURS),
    "flow.Hold": ("cause", OURS),
    "worksheet.StepDone": ("key torque_n_m", CHECKED),
    "tray.TrayPart": ("key gas_rule overridden", CHECKED),
    "bench.Attempt": ("key reading unit beside figures result picture", CHECKED),
    "live.Logging": ("key columns", CHECKED),
    "planning.Takeover": ("leg", OURS),
    "estimates.GoAhead": ("currency", CHECKED),
    "quotes.Quote": ("currency", CHECKED),
    "bills.Bill": ("currency", CHECKED),
    "bills.Payment": ("currency", CHECKED),
    "signoff.SignOff": ("digest signature", OURS),
    "signoff.Twin": ("digest signature", OURS),
    "batches.Batch": ("sha256 encoding mapping by", OURS),
}


def texts() -> Iterator[tuple[type[Model], "Field[Any, Any]"]]:
    """Every column of text of the house that is not one of a list which the model itself holds."""
    for model in apps.get_models():
        if model.__module__.split(".")[0] in ("shop", "jobs"):
            for field in model._meta.concrete_fields:
                if isinstance(field, CharField | TextField | JSONField) and not field.choices:
                    yield model, field


def free(model: type[Model], field: "Field[Any, Any]") -> bool:
    """Whether people write into it."""
    return field.name in FREE.get(model._meta.label, "").split()


def kept(model: type[Model], field: "Field[Any, Any]") -> bool:
    """Whether it is named as one that nobody writes into."""
    return field.name in KEPT.get(model._meta.label, ("", ""))[0].split()


def within(value: Any, payload: str, key: str = "") -> Any:
    """A value of JSON with the payload in place of each free text."""
    if isinstance(value, dict):
        return {name: within(each, payload, name) for name, each in value.items()}
    if isinstance(value, list):
        return [within(each, payload, key) for each in value]
    return payload if isinstance(value, str) and value and key in RECORD else value


def in_json(text: str, payload: str) -> str:
    """The same for JSON that is kept as text."""
    return json.dumps(within(json.loads(text), payload)) if text else text
