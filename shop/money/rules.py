"""What lines come to, by payer and by rate of tax. Pure: whole numbers only, so every sum is exact."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.workshop.rules import Refusal

WHOLE = 100_000  # a rate is kept in thousandths of a percent
MOST_SHARE = WHOLE  # no rate of ours is above 100 %
MOST_COIN = 100_000


class Payer(StrEnum):
    """Who pays for a line."""

    CUSTOMER = "customer"
    PROGRAMME = "maker's programme"
    WORKSHOP = "workshop"


class Rounding(StrEnum):
    """Where tax is rounded: once for all lines of a rate, as EN 16931 does, or for each line."""

    PER_RATE = "per rate"
    PER_LINE = "per line"


@dataclass(frozen=True)
class Rate:
    """A rate of tax in thousandths of a percent; no name means that there is no tax."""

    name: str = ""
    share: int = 0

    @property
    def percent(self) -> str:
        """The rate as decimal text: 20, 17.5."""
        whole, rest = divmod(self.share, 1000)
        return f"{whole}.{rest:03d}".rstrip("0").rstrip(".")

    @property
    def said(self) -> str:
        """The rate in words."""
        return f"{self.name}, {self.percent} %" if self.name else "no tax"


@dataclass(frozen=True)
class Terms:
    """How the workshop reckons: whether its prices include tax, where tax is rounded, which rate is the usual one.

    `by_rule` says by which law or document; `nudge_days`: after how many days somebody who was asked is asked again; `coin`:
    the smallest coin, in the smallest unit, to which what is paid is rounded; `tax_number`: ours, as bills print it.
    """

    inclusive: bool = False
    rounding: str = Rounding.PER_RATE
    by_rule: str = ""
    usual: str = ""
    nudge_days: int | None = None
    coin: int = 1
    currency: str = "EUR"
    tax_number: str = ""
    version: int = 1


@dataclass(frozen=True)
class Line:
    """One line: an amount in the smallest unit, as it is priced, less its discount."""

    amount: int
    rate: Rate = Rate()
    payer: str = Payer.CUSTOMER
    discount: int = 0

    @property
    def value(self) -> int:
        return self.amount - self.discount


@dataclass(frozen=True)
class Group:
    """What the lines of one rate come to."""

    rate: Rate
    net: int
    tax: int

    @property
    def gross(self) -> int:
        return self.net + self.tax


@dataclass(frozen=True)
class Totals:
    """What lines come to, by rate; what is paid of it is rounded to the smallest coin, which changes no tax."""

    groups: tuple[Group, ...] = ()
    coin: int = 1

    @property
    def net(self) -> int:
        return sum(group.net for group in self.groups)

    @property
    def tax(self) -> int:
        return sum(group.tax for group in self.groups)

    @property
    def gross(self) -> int:
        return self.net + self.tax

    @property
    def payable(self) -> int:
        return half_up(self.gross, self.coin) * self.coin

    @property
    def rounding(self) -> int:
        return self.payable - self.gross


def half_up(over: int, under: int) -> int:
    """A fraction as the nearest whole number, a half away from nought, so that a counter-bill mirrors its bill."""
    nearest = (2 * abs(over) + under) // (2 * under)
    return nearest if over >= 0 else -nearest


def tax_of(value: int, share: int, *, inclusive: bool) -> int:
    """The tax on a value, or in it where it includes tax; what is left of it is then the net, which is never rounded."""
    return half_up(value * share, WHOLE + share if inclusive else WHOLE)


def totals(lines: Iterable[Line], terms: Terms) -> Totals:
    """What lines come to, whoever pays: a group for each rate, in the order in which they come."""
    values: dict[Rate, list[int]] = {}
    for line in lines:
        values.setdefault(line.rate, []).append(line.value)
    return Totals(tuple(_group(rate, found, terms) for rate, found in values.items()), terms.coin)


def _group(rate: Rate, values: list[int], terms: Terms) -> Group:
    together, inclusive = sum(values), terms.inclusive
    taxed = values if terms.rounding == Rounding.PER_LINE else [together]
    tax = sum(tax_of(value, rate.share, inclusive=inclusive) for value in taxed)
    return Group(rate, together - tax if inclusive else together, tax)


def by_payer(lines: Iterable[Line], terms: Terms) -> dict[str, Totals]:
    """The same for each payer with a line, the customer first."""
    found: dict[str, list[Line]] = {payer.value: [] for payer in Payer}
    for line in lines:
        found[line.payer].append(line)
    return {payer: totals(rows, terms) for payer, rows in found.items() if rows}


def apportioned(amount: int, weights: Sequence[int]) -> list[int]:
    """An amount over weights in whole units: the largest remainders get what is left over, of equal ones the first."""
    whole = sum(weights)
    shares = [amount * weight // whole for weight in weights]
    behind = sorted(range(len(weights)), key=lambda n: -(amount * weights[n] % whole))
    for n in behind[: amount - sum(shares)]:
        shares[n] += 1
    return shares


def line_refusals(amount: int, discount: int, reason: str) -> list[Refusal]:
    """Why a line may not stand: a discount is no more than the amount, and has its reason."""
    found = []
    if discount > amount:
        found.append(Refusal("discount-too-high", "A discount is at most the amount itself.", "discount"))
    if discount and not reason:
        found.append(Refusal("reason-missing", "Say why there is a discount.", "reason"))
    if reason and not discount:
        found.append(Refusal("discount-missing", "A reason stands here, but no discount.", "discount"))
    return found


def rate_refusals(name: str, known: Iterable[str], pointer: str = "rate") -> list[Refusal]:
    """Why a line may not name a rate: there is none of that name on the day."""
    if not name or name in known:
        return []
    return [Refusal("no-such-rate", f"There is no rate of tax named {name} on this day.", pointer)]


def coin_refusals(coin: int | None) -> list[Refusal]:
    """A coin is worth something, and is no fortune."""
    if coin is None or 1 <= coin <= MOST_COIN:
        return []
    said = f"A smallest coin is worth 1 to {MOST_COIN} of the currency's smallest unit."
    return [Refusal("no-such-coin", said, "coin")]
