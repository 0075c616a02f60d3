"""The threads of a cylinder's neck and of its valve, compared: only the same two may be put together.

The threads are those of `cylinder_rules`, each read off its mark or gauged. What is none of them, or cannot be told, leaves
the check inconclusive: it is a fact that is missing, not a pass.
"""

from collections.abc import Iterable, Mapping

from jobs.bench.methods.asked import Choice, read
from jobs.bench.methods.cylinder_rules import Thread, thread_refusal
from jobs.bench.methods.verdicts import Decision, Instrument, Limit, Verdict
from jobs.bench.methods.worked import Result

METHOD_NAME = "thread check"
METHOD_VERSION = "1"
THREADS = "threads"
NOT_TOLD = "none of these, or not told"
OPTIONS = (*(each.value for each in Thread), NOT_TOLD)
ASKS = (
    Choice("neck", "Thread of the neck", OPTIONS, "Off the mark on the cylinder, or gauged. M18x1.5: from memory."),
    Choice("valve", "Thread of the valve", OPTIONS, "Off the mark on the valve, or gauged; never by trying it in."),
)  # fmt: skip


def judge(
    given: Mapping[str, str], limits: Iterable[Limit] = (), instrument: Instrument | None = None
) -> Result:
    """Within if both threads are known and the same; BadFigures on a word that is no thread."""
    typed = read(ASKS, given)
    decision = _decision(typed.choices["neck"], typed.choices["valve"])
    return Result(
        method=METHOD_NAME,
        version=METHOD_VERSION,
        verdict=decision.verdict,
        typed=dict(given),
        values={},
        decisions={THREADS: decision},
        warnings=() if decision.verdict is Verdict.WITHIN else (decision.sentence,),
        limits=tuple(limits),
        instrument=instrument,
    )


def _decision(neck: str, valve: str) -> Decision:
    if NOT_TOLD in (neck, valve):
        return Decision(Verdict.INCONCLUSIVE, "Both threads must be known before a valve is fitted.")
    if said := thread_refusal(Thread(neck), Thread(valve)):
        return Decision(Verdict.OUTSIDE, said)
    return Decision(Verdict.WITHIN, f"Neck and valve are both {neck}.")
