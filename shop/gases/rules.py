"""For which gas gear is used, and which parts are fit for it. Pure; shares of oxygen are in tenths of a percent."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from shop.workshop.rules import Refusal, values


class Gas(StrEnum):
    """The gas services that a part may be fit for."""

    AIR = "air"
    ENRICHED = "enriched air"
    OXYGEN = "oxygen"


WHOLE = 1000
# Above it gas counts as enriched: the strict default, and between which figures a workshop may set its own.
STRICT, LEAST, MOST = 235, 210, 400
# Above it gas counts as oxygen, whatever the threshold.
OXYGEN_ABOVE = 400


@dataclass(frozen=True)
class Published:
    """A published threshold, with how its words were read."""

    share: int
    says: str
    document: str
    status: str

    @property
    def above(self) -> str:
        return f"above {percent(self.share)}"


PUBLISHED = (
    Published(235, "gas is treated as oxidizing", "PHMSA letters 06-0064, 11-0175 and 11-0238", "read"),
    Published(235, "only equipment designed for oxygen", "29 CFR 1910.134(i)", "read on a secondary page"),
    Published(235, "cleaning", "CGA G-4.1, summary of the 2018/19 edition", "read on a secondary page"),
    Published(220, "gear for nitrox and oxygen", "EN 144-3, EN 13949", "from memory, unconfirmed"),
    Published(250, "cleaning, as the US Navy applies it", "MIL-STD-1330, quoted in a technical note", "read"),
    Published(400, "equipment designed and cleaned for oxygen", "46 CFR 197.326 and 197.452", "read"),
    Published(400, "equipment designed and cleaned for oxygen", "29 CFR 1910.430(i)", "read on a secondary page"),
)  # fmt: skip


def percent(share: int) -> str:
    """Tenths of a percent as people write them: 235 is 23.5 %."""
    return f"{share // 10}.{share % 10}".removesuffix(".0") + " %"


@dataclass(frozen=True)
class Setting:
    """The threshold of this workshop, at a version."""

    threshold: int = STRICT
    version: int = 1


@dataclass(frozen=True)
class Use:
    """The gas that gear is used with, and by which rule that was found."""

    gas: Gas
    rule: str


def use_of(share: int | None, *, oxygen_plan: bool, threshold: int) -> Use:
    """The gas of a job: by what is stated of the item, else by its plan, else air; `share` is the most oxygen in it."""
    limit = f"the threshold of {percent(threshold)}"
    if share is not None and share > OXYGEN_ABOVE:
        return Use(Gas.OXYGEN, f"used with {percent(share)} oxygen, above {percent(OXYGEN_ABOVE)}")
    if share is not None and share > threshold:
        return Use(Gas.ENRICHED, f"used with {percent(share)} oxygen, above {limit}")
    if oxygen_plan:
        return Use(Gas.OXYGEN, f"the plan is for oxygen-clean gear; enriched is above {limit}")
    if share is not None:
        return Use(Gas.AIR, f"used with {percent(share)} oxygen, not above {limit}")
    return Use(Gas.AIR, f"neither item nor plan states more oxygen; enriched is above {limit}")


def stated(texts: Iterable[str]) -> str:
    """Gas services as one text, in their order, as a part keeps them."""
    chosen = set(texts)
    return ", ".join(gas for gas in values(Gas) if gas in chosen)


# Every text that a part may keep; the empty one says that nothing is stated.
STATEMENTS = [stated(some) for count in range(len(Gas) + 1) for some in combinations(values(Gas), count)]


def fit_words(fit_for: str) -> str:
    """For what a part is fit, in a sentence."""
    return f"Fit for {fit_for}." if fit_for else "Not stated for which gas it is fit, so for air only."


def fit(fit_for: str, gas: str) -> bool:
    """Whether a part is fit for a gas: only for what is stated, and for air alone where nothing is."""
    return gas in (fit_for or Gas.AIR).split(", ")


def unfit_refusals(part: str, fit_for: str, use: Use) -> list[Refusal]:
    """Why a part may not go into gear that is used with a gas."""
    if fit(fit_for, use.gas):
        return []
    said = f"Part {part} is not fit for {use.gas} ({use.rule}). {fit_words(fit_for)}"
    return [Refusal("unfit-for-gas", said, "lot")]


def plan_refusals(use: Use, *, oxygen_plan: bool) -> list[Refusal]:
    """Why a plan is not for gear that is used with a gas: more oxygen than air has takes one for oxygen-clean gear."""
    if use.gas == Gas.AIR or oxygen_plan:
        return []
    said = f"The gear is for {use.gas} ({use.rule}), and no plan of this job is for oxygen-clean gear."
    return [Refusal("plan-unfit", said)]


def statement_refusals(fit_for: str, source: str) -> list[Refusal]:
    """Why a fitness cannot stand so: it is stated together with who says so, or not at all."""
    if bool(fit_for) == bool(source):
        return []
    if fit_for:
        return [Refusal("fit-source", "Say where it is stated, for example the maker's sheet.", "fit_source")]
    return [Refusal("fit-for", "Say for which gas services that source states it to be fit.", "fit_for")]
