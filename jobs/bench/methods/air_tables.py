"""Published limits on breathing air: what a table asks for, in which edition, and how its words reached this one.

Only what was found in print is here. Where a table says nothing it has no row, and the limits that a service plan adds are
the workshop's to enter. Every limit is judged by the value alone: no source states how uncertain an analysis may be.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.published_limits import READ, READ_SECOND_HAND
from jobs.bench.methods.verdicts import Limit, Rule, Verdict

OXYGEN, CO, CO2, OIL = "oxygen", "carbon monoxide", "carbon dioxide", "oil"
HYDROCARBONS, WATER, DEW_POINT = "hydrocarbons", "water", "dew point"
QUANTITIES = {
    OXYGEN: "percent",
    CO: "ppm",
    CO2: "ppm",
    OIL: "mg_m3",
    HYDROCARBONS: "ppm",
    WATER: "mg_m3",
    DEW_POINT: "degC",
}
OUTLET, CYLINDER = "compressor outlet", "cylinder"


@dataclass(frozen=True)
class AirRow:
    """One limit; with a place it holds for what was sampled there, with pressures for cylinders filled from and up to.

    Both pressures are in it; of two rows that apply the first counts.
    """

    quantity: str
    low: str = ""
    high: str = ""
    printed: str = ""
    where: str = ""
    from_bar: Decimal | None = None
    to_bar: Decimal | None = None

    def applies(self, where: str, bar: Decimal | None) -> bool:
        """Whether it holds for air sampled there; `bar` is the filling pressure of a cylinder."""
        if self.where and self.where != where:
            return False
        if bar is None:
            return self.from_bar is None and self.to_bar is None
        reached = self.from_bar is None or bar >= self.from_bar
        return reached and (self.to_bar is None or bar <= self.to_bar)


@dataclass(frozen=True)
class AirTable:
    """One published table; `odour` are its words, `slight` is what a slight odour means by them (None: it asks nothing)."""

    title: str
    edition: str
    status: str
    rows: tuple[AirRow, ...]
    odour: str = ""
    slight: Verdict | None = None

    @property
    def name(self) -> str:
        return f"{self.title}, {self.edition}"

    def limits(self, where: str, bar: Decimal | None) -> dict[str, Limit]:
        """The limits that hold for air sampled there, by what they limit."""
        found: dict[str, Limit] = {}
        for row in self.rows:
            if row.applies(where, bar):
                found.setdefault(row.quantity, self._limit(row))
        return found

    def _limit(self, row: AirRow) -> Limit:
        return Limit(
            row.quantity,
            QUANTITIES[row.quantity],
            low=Decimal(row.low) if row.low else None,
            high=Decimal(row.high) if row.high else None,
            decision=Rule.SIMPLE,
            source=f"{self.title} ({self.status})",
            edition=self.edition,
            printed=row.printed,
        )

    @property
    def by_pressure(self) -> bool:
        """Whether a limit for cylinders hangs on the pressure to which they are filled."""
        return any(row.from_bar is not None or row.to_bar is not None for row in self.rows)


_200 = Decimal(200)
_TABLES = (
    AirTable(
        "EN 12021",
        "2014",
        READ_SECOND_HAND,
        (
            AirRow(OXYGEN, "20", "22", printed="21 ± 1 %"),
            AirRow(CO, high="5"),
            AirRow(CO2, high="500"),
            AirRow(OIL, high="0.5"),
            AirRow(WATER, high="25", where=OUTLET),
            AirRow(WATER, high="50", where=CYLINDER, from_bar=Decimal(40), to_bar=_200),
            AirRow(WATER, high="35", where=CYLINDER, from_bar=_200),
        ),
        "no significant odour",
        Verdict.INCONCLUSIVE,
    ),
    AirTable(
        "CGA G-7.1 grade D, as 29 CFR 1910.134(i) has it",
        "edition not stated where it was read",
        READ,
        (
            AirRow(OXYGEN, "19.5", "23.5"),
            AirRow(CO, high="10"),
            AirRow(CO2, high="1000"),
            AirRow(OIL, high="5", printed="condensed hydrocarbons"),
            AirRow(DEW_POINT, high="-45.6", printed="-50 °F", where=CYLINDER),
        ),
        "no noticeable odour",
        Verdict.OUTSIDE,
    ),
    AirTable(
        "CGA G-7.1 grade E",
        "tables of 1989 and 2011",
        READ_SECOND_HAND,
        (
            AirRow(OXYGEN, "20", "22"),
            AirRow(CO, high="10"),
            AirRow(CO2, high="1000"),
            AirRow(OIL, high="5"),
            AirRow(HYDROCARBONS, high="25", printed="as methane"),
        ),
        "none or slight odour",
        Verdict.WITHIN,
    ),
    AirTable(
        "Norway, filling plants, section 5-5",
        "edition not stated where it was read",
        READ,
        (
            AirRow(CO, high="10"),
            AirRow(CO2, high="500"),
            AirRow(OIL, high="1"),
            AirRow(WATER, high="50", printed="for 200 bar", where=CYLINDER, to_bar=_200),
            AirRow(WATER, high="30", printed="for 300 bar", where=CYLINDER, from_bar=_200),
        ),
        "no odour",
        Verdict.OUTSIDE,
    ),
    AirTable(
        "29 CFR 1910.430, commercial diving",
        "edition not stated where it was read",
        f"{READ}; its words on odour are from memory",
        (AirRow(CO, high="20"), AirRow(CO2, high="1000"), AirRow(OIL, high="5", printed="mist")),
        "no noxious odour",
        Verdict.INCONCLUSIVE,
    ),
    AirTable(
        "46 CFR 197.340(i)",
        "edition not stated where it was read",
        READ_SECOND_HAND,
        (AirRow(OXYGEN, "20", "22"), AirRow(CO, high="20"), AirRow(CO2, high="1000")),
    ),
)
TABLES: Mapping[str, AirTable] = {each.name: each for each in _TABLES}
