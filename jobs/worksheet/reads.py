"""What the work sheet knows of a job, and the blank sheet on paper."""

from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.flow.models import Job
from jobs.flow.reads import backs, jobs
from jobs.worksheet.models import StepDone
from jobs.worksheet.rules import counting, limit_words, open_steps, still_in, unit_symbol
from shop.catalogue.rules import BenchTest, LoosePart, Plan, Step
from shop.paper.rules import Bold, Caution, Cell, Facts, Heading, Paper, Table, Words, day
from shop.workshop.rules import Refusal, in_unit

HAND_MM = 9.0  # room for a line written by hand
NONE = "–"  # nothing is to be written here
STEP_HEADS = ("no.", "step", "parts counted", "torque asked", "torque read", "wrench", "done by, at")
STEP_MM = (9, 73, 17, 18, 18, 17, 30)
TRAY_HEADS = ("part", "how much", "by the plan", "what became of it", "lot", "by, at")
TRAY_MM = (46, 14, 42, 32, 20, 28)
TEST_HEADS = ("test", "limit, decision rule", "reading", "instrument", "done by, at")
TEST_MM = (48, 60, 24, 22, 28)


def done_steps(job: Job) -> dict[str, StepDone]:
    """The steps that are done or omitted and still count, by key; a later round keeps what it did not go back to."""
    rows = StepDone.objects.select_related("done_by", "recorded_by", "wrench", "round")
    kept = [(row.key, row.backs, row) for row in rows.filter(round__job=job).order_by("pk")]
    return counting(job.plan, backs(job), kept)


def as_done(rows: dict[str, StepDone]) -> dict[str, bool]:
    """The rows as the rules look at them: done, or omitted."""
    return {key: not row.omitted for key, row in rows.items()}


def sheet_facts(job: Job) -> tuple[dict[str, tuple[Refusal, ...]], set[str]]:
    """The steps that stand open, by the fact of the passage that asks for them, and the parts that never came loose."""
    plan, done = job.plan, as_done(done_steps(job))
    asked = {
        "stripped": "stripping",
        "cleaned": "cleaning",
        "rebuilt": "rebuilding",
        "looked_over": "testing",
    }
    found = {fact: tuple(open_steps(plan, done, [leg])) for fact, leg in asked.items()}
    return found, still_in(plan, done)


def blank_sheet(uid: UUID) -> Paper:
    """The work sheet of a job with blanks, to be filled in by hand and typed in later."""
    job = get_object_or_404(jobs(), uid=uid)
    plan, item = job.plan, job.item
    facts: list[tuple[str, Cell]] = [
        ("item", (Bold(f"{item.label}, {item.title}"), item.marks)),
        ("drop-off, bag", f"{job.drop_off.label}, {job.line.tag}"),
        ("owner", item.owner.name),
        ("plan", ", ".join(f"{each.plan.title}, version {each.n}" for each in job.plans)),
        ("promised for", day(job.promised_on)),
        ("technician", job.technician.name if job.technician else "nobody yet"),
        ("gas inside when it came", _inside(job)),
    ]
    return Paper(
        name=f"work-sheet-{job.number}",
        title=f"Work sheet, tray {job.number}",
        mark=job.line.tag,
        blocks=[
            Words("To be filled in by hand, and typed in later by whoever did the work."),
            Facts(facts),
            *([Caution(plan.cautions)] if plan.cautions else []),
            Heading("Steps"),
            Table(STEP_HEADS, STEP_MM, [_step_row(plan, step) for step in plan.steps], HAND_MM),
            Heading(f"Tray {job.number}"),
            Table(TRAY_HEADS, TRAY_MM, [_tray_row(part) for part in plan.parts], HAND_MM),
            Heading("Tests"),
            Table(TEST_HEADS, TEST_MM, [_test_row(test) for test in plan.tests], 2 * HAND_MM),
        ],
    )


def _inside(job: Job) -> Cell:
    if job.line.contents == "no gas":
        return "no gas"
    if job.line.contents == "not looked at":
        return Bold("nobody has looked yet")
    said = "confirmed empty by" if job.line.emptied_at else "not yet confirmed empty; emptied by:"
    return (Bold("under pressure"), f"{said} {job.line.emptied_by.name if job.line.emptied_by else ''}")


def _step_row(plan: Plan, step: Step) -> tuple[Cell, ...]:
    freed, caution = plan.freed(step), f"Caution: {step.caution} {step.why}".strip()
    words: list[str] = [Bold(step.title)]
    words += [step.words] if step.words else []
    words += [f"Only if: {step.when}"] if step.when else []
    words += [f"Tool: {step.tool}"] if step.tool else []
    words += [Bold(caution)] if step.caution else []
    words += [f"Source: {step.source}"] if step.source else []
    loose = sum(part.pieces for part in freed)
    counted = f"of {loose}" if loose else NONE
    asked = f"{step.torque_n_m} N·m" if step.torque_n_m else NONE
    read = "N·m" if step.torque_n_m else NONE
    wrench = "" if step.torque_n_m else NONE
    return (str(plan.position(step)), tuple(words), counted, asked, read, wrench, "")


def _tray_row(part: LoosePart) -> tuple[Cell, ...]:
    by_plan = f"renewed with {part.renew}" if part.renew else "looked at and reused"
    if not part.pieces:
        by_plan = f"measured out of {part.renew}"
    return (part.name, in_unit(part.count, part.unit), by_plan, "", "" if part.renew else NONE, "")


def _test_row(test: BenchTest) -> tuple[Cell, ...]:
    limits = tuple(
        f"{bound.label}: {limit_words(bound.low, bound.high, bound.unit, strict=bound.strict)}, {bound.decision}"
        for bound in test.bounds
    )
    sources = dict.fromkeys(f"Source: {bound.source}" for bound in test.bounds)
    read_in = [*(bound.unit for bound in test.bounds), *(each.unit for each in test.functions if each.unit)]
    units = dict.fromkeys(unit_symbol(unit) for unit in read_in)
    measured = f"Measured with a {test.needs}." if test.needs else test.words
    listed = tuple(f"{each.title}: pass, fail, not fitted" for each in test.functions)
    return ((Bold(test.title), measured, *listed), (*limits, *sources), ", ".join(units), "", "")
