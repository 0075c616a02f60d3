"""The closed record of a round on paper, and the bench sheet of its tests. Pure."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, tzinfo
from typing import Any

from jobs.bench.methods import METHODS
from jobs.bench.methods.records import estimate_from, limit_from
from jobs.bench.methods.units import symbol
from jobs.bench.rules import NO_ACCURACY, knows_accuracy
from jobs.flow.rules import Outcome
from shop.paper.rules import (
    Block,
    Bold,
    Caution,
    Cell,
    Code,
    Drawing,
    Facts,
    Heading,
    Label,
    Line,
    Paper,
    Table,
    Words,
    day,
    moment,
    own,
    pieces,
)
from shop.workshop.rules import Unit, in_unit

ALL_ELSE = "whatever this record does not name."
STATES = (
    Bold("This record states what was done and measured here on that day."),
    "It does not replace the maker's instructions, and it does not make the gear safe.",
)
NOT_THE_RECORD = (
    Bold("This is a bench sheet and not the record."),
    "It shows what was measured up to the moment at which it was printed. The record is what was signed off.",
)
MEASURED = (
    Bold("It states what was measured, with what and by whom, each attempt as it was judged."),
    "It does not replace the maker's instructions, and it does not make the gear safe.",
)
STEP_HEADS, STEP_MM = ("no.", "step", "read and counted", "done by, at"), (10, 76, 48, 48)
PART_HEADS, PART_MM = ("part", "how much", "what became of it", "new part and lot"), (54, 20, 44, 64)


def record_paper(
    record: Mapping[str, Any], pictures: Mapping[str, Any], *, proof: Code, zone: tzinfo
) -> Paper:  # fmt: skip
    """The closed record of a round on paper; `pictures` holds the drawings of its tests, by uid.

    `proof` leads to where anybody may ask whether the workshop signed this record.
    """
    signed, number = record["signed"], record["item"]["number"]
    tested = record["not_tested"]
    not_tested = f"{'; '.join(tested)}; and whatever this record does not name." if tested else ALL_ELSE
    return Paper(
        name=f"service-record-{record['job']['number']}-{number}",
        title=f"Service record, {number}",
        mark=number,
        blocks=[
            _outcome(record),
            Facts(_about(record)),
            *([Caution(tuple(record["cautions"]))] if record["cautions"] else []),
            Heading("Tests"),
            *(block for test in record["tests"] for block in _test(test, pictures.get(test["uid"]), zone)),
            *([] if record["tests"] else [Words("Nothing was tested.")]),
            *_loggings(record, zone),
            Words((Bold("Not tested:"), not_tested)),
            Heading("Steps"),
            Table(STEP_HEADS, STEP_MM, [_step(step, zone) for step in record["steps"]]),
            Heading("Parts"),
            Table(PART_HEADS, PART_MM, [_part(part) for part in record["parts"]]),
            Heading("Signed", room_mm=85),  # the code stands with what it is of
            Facts(_signed(signed, zone)),
            Caution(STATES, 10),
            proof,
        ],
    )


def bench_paper(
    about: Mapping[str, Any],
    tests: Sequence[Mapping[str, Any]],
    pictures: Mapping[str, Any],
    *,
    not_tested: Sequence[str],
    zone: tzinfo,
) -> Paper:
    """Every attempt of a round on one paper, which says of itself that it is not the record."""
    job, item = about["job"], about["item"]
    return Paper(
        name=f"bench-sheet-{job['number']}-{item['number']}",
        title=f"Bench sheet, {item['number']}, round {about['round']}",
        mark=item["number"],
        blocks=[
            Caution(NOT_THE_RECORD),
            Facts(
                [
                    ("item", (Bold(f"{item['number']}, {_title(item)}"), _marks(item))),
                    ("job, drop-off", f"{job['number']}, {job['drop_off']}"),
                    ("done under", _plans(about)),
                    ("technician", about["technician"] or "nobody named"),
                ]
            ),
            *(block for test in tests for block in _test(test, pictures.get(test["uid"]), zone)),
            *([] if tests else [Words("Nothing was tested yet.")]),
            *_loggings(about, zone),
            *([Words((Bold("No attempt yet:"), "; ".join(not_tested)))] if not_tested else []),
            Caution(MEASURED, 10),
        ],
    )


def do_not_dive(record: Mapping[str, Any], *, zone: tzinfo) -> Paper:
    """The slip that goes with gear that was not serviced: large words, and why."""
    signed, item = record["signed"], record["item"]
    return Paper(
        name=f"do-not-dive-{record['job']['number']}-{item['number']}",
        title=f"{item['number']}, drop-off {record['job']['drop_off']}",
        mark=item["number"],
        blocks=[
            Caution(Bold("DO NOT DIVE"), 60),
            Words(Bold(f"Outcome: {signed['outcome']}"), 26),
            Heading("Why"),
            Words(signed["words"], 16),
            Heading("What"),
            Facts(
                [
                    ("item", (Bold(_title(item)), _marks(item))),
                    ("owner", record["owner"]),
                    *_signed(signed, zone),
                ]
            ),
        ],
    )


def _outcome(record: Mapping[str, Any]) -> Block:
    signed = record["signed"]
    said = Bold(f"Outcome: {signed['outcome']}")
    if signed["outcome"] == Outcome.SERVICED:
        return Words((said, signed["words"]) if signed["words"] else said, 18)
    return Caution((Bold("Do not dive with this item."), said, f"Found: {signed['words']}"), 16)


def _about(record: Mapping[str, Any]) -> list[tuple[str, Cell]]:
    job, got = record["job"], record["received"]
    return [
        ("item", (Bold(f"{record['item']['number']}, {_title(record['item'])}"), _marks(record["item"]))),
        ("owner", record["owner"]),
        ("job, drop-off", f"{job['number']}, {job['drop_off']}"),
        ("done under", _plans(record)),
        ("technician", record["technician"] or "nobody named"),
        ("gas inside when it came", got["contents"]),
        ("the customer said", got["words"] or "nothing"),
        ("condition as seen", got["condition"] or "nothing noted"),
        ("it came", got["state"]),
        *([("cleaned apart because of", got["taint"])] if got["taint"] != "none known" else []),
        *([("with it", got["accessories"])] if got["accessories"] else []),
        *([("it follows", record["follows"])] if record["follows"] else []),
        *(
            ("hold", f"{hold['kind']}: {hold['why']}; lifted: {hold['lifted_why']}")
            for hold in record["holds"]
        ),
    ]


def _plans(about: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(f"{plan['title']}, version {plan['version']}" for plan in about["plans"])


def _title(item: Mapping[str, Any]) -> str:
    return f"{item['kind'][0].upper()}{item['kind'][1:]}, {item['model']}"


def _marks(item: Mapping[str, Any]) -> str:
    said = [f"{m['kind']} {m['value']} {'' if m['state'] == 'read' else m['state']}" for m in item["marks"]]
    return ", ".join(" ".join(each.split()) for each in said) or "no marks"


def _test(test: Mapping[str, Any], picture: Mapping[str, Any] | None, zone: tzinfo) -> list[Block]:
    result = test["result"]
    counts = ""
    if test.get("replaced"):
        counts = "; an earlier attempt, a later one counts in its place"
    elif not test["counts"]:
        counts = "; it no longer counts: the job went back, the item beside it was worked on or the instrument was found bad since"
    facts: list[tuple[str, Cell]] = [("verdict", Bold(f"{test['verdict']}{counts}"))]
    if test.get("why_again"):
        facts.append(("done again", test["why_again"]))
    if test["reading"]:
        facts.append(("reading", Bold(f"{test['reading']} {symbol(test['unit'])}")))
    facts += (
        [("typed", "; ".join(f"{label} {text}" for label, text in test.get("typed", ())))]
        if test.get("typed")
        else []
    )
    keys = [each["key"] for each in result.get("functions", ())]
    listed = [result["decisions"][key]["sentence"] for key in keys if key in result["decisions"]]
    limited = [row for row in result["limits"] if not keys and row["quantity"] in result["decisions"]]
    said = (*listed, *(_decided(test, limit) for limit in limited))
    facts += [("figures", said)] if said else []
    facts += [(f"limit of {limit['quantity']}", _limit(limit)) for limit in result["limits"]]
    facts += [("caution", Bold(warning)) for warning in result["warnings"]]
    facts += [("tested together with", ", ".join(test["beside"]))] if test["beside"] else []
    facts += [
        ("rests on", _source(test)),
        ("method", f"{result['method']}, version {result['version']}"),
        ("done by", _by(test["done_by"], test["done_at"], zone)),
    ]
    drawn = [_drawing(picture)] if picture else []
    return [Heading(f"{test['title']}, {test['phase']}", 11.5), *drawn, Facts(facts)]


def _loggings(record: Mapping[str, Any], zone: tzinfo) -> list[Block]:
    """What was logged live and is no attempt, and why; records of before they were told have none."""
    told = record.get("loggings", ())
    rows = [_logging(each, zone) for each in told]
    return [Heading("Logged, and no attempt", 11.5), Facts(rows)] if rows else []


def _logging(each: Mapping[str, Any], zone: tzinfo) -> tuple[str, Cell]:
    became = f"thrown away: {each['reason']}" if each["reason"] else "not ended"
    used = f", {each['instrument']}" if each["instrument"] else ""
    begun = f"{each['samples']} samples{used}, {_by(each['begun_by'], each['begun_at'], zone)}"
    return f"{each['title']}, {each['phase']}", (Bold(became), begun)


def _decided(test: Mapping[str, Any], limit: Mapping[str, Any]) -> str:
    """What was decided on a quantity; its interval too where the sentence leaves it out, for the value alone decided."""
    result, quantity = test["result"], limit["quantity"]
    sentence: str = result["decisions"][quantity]["sentence"]
    _, low, high = estimate_from(result, quantity) or ("", "", "")
    if limit["decision"] != "simple" or low == high:
        return sentence
    unit = test["unit"] or METHODS[result["method"]].quantities[quantity]
    return f"{sentence} Its 95 % interval is {low} to {high} {symbol(unit)}."


def _source(test: Mapping[str, Any]) -> str:
    """What a verdict rests on: a certificate, our instrument, or an eye."""
    if test["certificate"]:
        return f"certificate {test['certificate']} of {test['station']}"
    if not test["instrument"]:
        return "what was seen, without an instrument"
    known = "" if knows_accuracy(test["result"]) else f"; {NO_ACCURACY}"
    return f"{test['instrument']}, calibrated to {day(date.fromisoformat(test['calibrated_to']))}{known}"


def _limit(record: Mapping[str, Any]) -> Cell:
    """A limit in words, its decision rule and its source."""
    rule = {
        "guarded": "Guarded: the whole 95 % interval must lie inside the limit.",
        "simple": "Simple: the value alone decides.",
    }[record["decision"]]
    edition = f", {record['edition']}" if record["edition"] else ""
    return (f"{limit_from(record)}. {rule}", f"Source of the limit: {record['source']}{edition}")


def _step(step: Mapping[str, Any], zone: tzinfo) -> tuple[Cell, ...]:
    if step["omitted"]:
        return (str(step["n"]), step["title"], (Bold("omitted"), own(step["omitted"])), "")
    if not step["done"]:
        return (str(step["n"]), step["title"], Bold("not done"), "")
    read = []
    if step["torque_n_m"]:
        read.append(f"{step['torque_n_m']} N·m read, {step['asked_n_m']} N·m asked, wrench {step['wrench']}")
    if step["counted"] is not None:
        read.append(f"{pieces(step['counted'])} counted")
    if step.get("noted"):
        read.append(own(step["noted"]))
    by = [_by(step["done_by"], step["done_at"], zone)]
    by += [f"recorded by {own(step['recorded_by'])}"] if step["recorded_by"] != step["done_by"] else []
    return (str(step["n"]), step["title"], tuple(read) or "done", tuple(by))


def _part(part: Mapping[str, Any]) -> tuple[Cell, ...]:
    ending: list[str | Bold] = [part["ending"], *([own(part["words"])] if part.get("words") else [])]
    overridden, much = part.get("overridden", ""), in_unit(part["count"], part.get("unit", Unit.PIECE))
    if part.get("why"):
        ending.append(f"corrected: {own(part['why'])}")
    if part.get("second") and not overridden:
        ending.append(f"searched with {own(part['second'])}")
    if not part.get("lot"):
        new = "none" if part.get("origin", "itself") == "itself" else part["origin"]
        return (part["name"], much, tuple(ending), new)
    good_to = f", good to {day(date.fromisoformat(part['good_to']))}" if part["good_to"] else ""
    taken: list[str | Bold] = [f"{part['part']}, lot {part['lot']}{good_to}"]
    if part.get("gas"):
        taken.append(f"for {part['gas']}: {part['gas_rule']}")
    if part.get("alternative"):
        taken += [Bold("Taken as an alternative"), own(part["alternative"])]
    if overridden:
        taken += [Bold(f"Overridden: {overridden}"), own(part["override"])]
        taken.append(f"by {own(part['lead'])} with {own(part['second'])}")
    return (part["name"], much, tuple(ending), tuple(taken))


def _signed(signed: Mapping[str, Any], zone: tzinfo) -> list[tuple[str, Cell]]:
    at = moment(datetime.fromisoformat(signed["at"]), zone)
    who: list[tuple[str, Cell]] = [
        ("signed off by", (Bold(signed["signer"]), f"authorised: {signed['authorisation']}"))
    ]
    if signed["second"]:
        second = (Bold(signed["second"]), f"authorised: {signed['second_authorisation']}")
        who.append(("second person", second))
    if signed["single_handed"]:
        who.append(("single-handed", Bold(signed["single_handed"])))
    return [*who, ("signed off on", at)]


def _by(name: str, at: str, zone: tzinfo) -> str:
    return f"{own(name)}, {moment(datetime.fromisoformat(at), zone)}"


def _drawing(picture: Mapping[str, Any]) -> Drawing:
    """The drawing of a trace as the bench made it: its parts are told apart by their dashes."""
    band = picture["band"]
    lines = [("grid", 0.1, 0.0), ("line", 0.4, 0.0), ("fit", 0.5, 1.2), ("mark", 0.3, 0.5)]
    labels = (Label(float(x["x"]), float(x["y"]), x["anchor"], x["text"]) for x in picture["labels"])
    return Drawing(
        float(picture["width"]),
        float(picture["height"]),
        tuple(Line(picture[name], wide, dash) for name, wide, dash in lines if picture[name]),
        tuple(labels),
        (float(band["x"]), float(band["y"]), float(band["width"]), float(band["height"])) if band else None,
    )
