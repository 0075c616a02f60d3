"""What is made of times that were measured side by side. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Limit:
    """What a question may cost: so many times the raw comparison, or so many milliseconds; 0 where nothing is asked."""

    times: float = 0
    ms: float = 0


@dataclass(frozen=True)
class Measured:
    """One question: milliseconds of ours and of the raw comparison in one run, if there is one; the plans of their main queries."""

    question: str
    ours: Sequence[float]
    raw: Sequence[float]
    limit: Limit = Limit()
    queries: int = 0
    plans: tuple[str, str] = ("", "")
    parts: tuple[str, ...] = ()

    @property
    def ratio(self) -> float:
        return middle(self.ours) / middle(self.raw)

    @property
    def verdict(self) -> str:
        """Whether the limit was kept; empty where there is none."""
        if not (self.limit.times or self.limit.ms):
            return ""
        if self.limit.ms:
            return _kept(middle(self.ours) <= self.limit.ms, f"{self.limit.ms:g} ms")
        return _kept(self.ratio <= self.limit.times, f"{self.limit.times:g} times")


def middle(times: Sequence[float]) -> float:
    """The median."""
    order, half = sorted(times), len(times) // 2
    return order[half] if len(order) % 2 else (order[half - 1] + order[half]) / 2


def _kept(kept: bool, limit: str) -> str:
    return f"{'met' if kept else 'MISSED'}: {limit} at most"


def told(row: Measured) -> list[str]:
    """What is printed of a question: its figures in one line, then its parts and plans."""
    count = f", {row.queries} queries" if row.queries else ""
    beside = f", raw {middle(row.raw):.2f} ms, ratio {row.ratio:.2f}" if row.raw else ""
    verdict = f" ({row.verdict})" if row.verdict else ""
    rounds = f"{len(row.ours)} round{'' if len(row.ours) == 1 else 's'}"
    first = f"{row.question}: ours {middle(row.ours):.2f} ms{count}{beside}{verdict}, {rounds}"
    plans = [
        f"    {whose}: {line.rstrip()}"
        for whose, plan in zip(("ours", "raw"), row.plans, strict=True)
        for line in plan.splitlines()
    ]
    return [first, *(f"    {part}" for part in row.parts), *plans]
