"""Oxygen and nitrogen as a diver's cylinder holds them, as ideal and as real gas. Floats; pressures absolute.

Z = p / (rho R T) of the real gas is a fit in powers of density, of 300 K / T and of the share of oxygen above 21 %. It was
made by least squares, 45 coefficients cut to seven digits, from 4 056 values computed with CoolProp 8.0.0: its `Air` at
21 %, which is air with its argon, and its mixtures of nitrogen and oxygen at 32, 36 and 40 %; -15 to 60 degC in steps of
3 K, 39 pressures from 1 to 360 bar. Measured at 9 858 points in steps of 2.5 K and 7 bar, at given temperature and
pressure, the largest error in Z is 0.00016 (at 21, 32, 34, 36, 38 and 40 %). Between 21 and 32 % the fit goes from one
model to the other: CoolProp's mixture without argon lies up to 0.0028 in Z above it just over 21 %, 0.0008 at 28 %. No
vessel stretches here with its pressure.

Source of R: CODATA 2018. Molar masses: oxygen 31.9988 g/mol; the rest is weighed as in air, nitrogen with its argon,
28.1523 g/mol, which gives air its 28.96 g/mol.
"""

from collections.abc import Callable
from dataclasses import dataclass

LEAST_OXYGEN_PERCENT, MOST_OXYGEN_PERCENT = 21.0, 40.0
COLDEST_C, WARMEST_C = -15.0, 60.0
LEAST_BAR, MOST_BAR = 1.0, 350.0
ZERO_C_K = 273.15
ATMOSPHERE_BAR = 1.01325

_R_BAR_L = 0.08314462618  # bar L / (mol K)
_OXYGEN_G_MOL, _REST_G_MOL = 31.9988, 28.1523
# One block a power of density (10 mol/L) from the first, one line a power of 300 K / T from 0, one column a power of the
# share of oxygen above 21 % from 0.
_FIT = (
    (
        (0.3999508, 0.084828, -0.5652883),
        (-0.3782836, 0.006367572, -0.005061842),
        (-0.09621485, -0.1395014, 0.3713673),
    ),
    (
        (0.1250651, -0.4304516, 1.596154),
        (0.04902447, -0.9948849, 2.48032),
        (-0.02818294, 1.117524, -3.255174),
    ),
    (
        (0.0009373175, 1.440193, -5.597851),
        (-0.2155824, 1.013633, -1.359106),
        (0.1883005, -1.832442, 5.04519),
    ),
    (
        (0.07442449, -2.217603, 7.996273),
        (0.1290714, 0.8573816, -4.695023),
        (-0.1585115, 0.7975256, -1.630951),
    ),
    (
        (-0.04552697, 1.076179, -3.679378),
        (0.00888477, -1.003216, 3.761884),
        (0.02918841, 0.09120776, -0.5803175),
    ),
)
_NEWTON_STEPS = 12


class OutOfRange(ValueError):
    """A mix, temperature or pressure for which the fit was not made."""


@dataclass(frozen=True)
class Law:
    """How pressure (bar absolute), density (mol/L), temperature (degC) and oxygen (percent) hang together.

    `off_bar_c` is how far a closed vessel's pressure may be computed wrong, in bar for each degree between.
    """

    name: str
    off_bar_c: float
    density: Callable[[float, float, float], float]  # of pressure, temperature, oxygen
    pressure: Callable[[float, float, float], float]  # of density, temperature, oxygen


def compressibility(pressure_bar: float, temperature_c: float, oxygen_percent: float) -> float:
    """Z of the real gas; OutOfRange outside the range of the fit."""
    check(pressure_bar, temperature_c, oxygen_percent)
    density = REAL.density(pressure_bar, temperature_c, oxygen_percent)
    return pressure_bar / (density * _thermal(temperature_c))


def closed_vessel_bar(
    pressure_bar: float, temperature_c: float, other_c: float, oxygen_percent: float
) -> float:
    """The pressure that a closed vessel shows at another temperature; OutOfRange also where that pressure is."""
    check(pressure_bar, temperature_c, oxygen_percent)
    density = REAL.density(pressure_bar, temperature_c, oxygen_percent)
    other_bar = REAL.pressure(density, other_c, oxygen_percent)
    check(other_bar, other_c, oxygen_percent)
    return other_bar


def mass_g(pressure_bar: float, temperature_c: float, oxygen_percent: float, volume_l: float) -> float:
    """The mass of gas in a vessel; OutOfRange outside the range of the fit."""
    check(pressure_bar, temperature_c, oxygen_percent)
    return (
        REAL.density(pressure_bar, temperature_c, oxygen_percent)
        * volume_l
        * molar_mass_g_mol(oxygen_percent)
    )


def free_l(pressure_bar: float, temperature_c: float, oxygen_percent: float, volume_l: float) -> float:
    """The litres that a vessel's gas fills at 1.01325 bar and the same temperature; OutOfRange as above."""
    check(pressure_bar, temperature_c, oxygen_percent)
    surface = REAL.density(ATMOSPHERE_BAR, temperature_c, oxygen_percent)
    return REAL.density(pressure_bar, temperature_c, oxygen_percent) * volume_l / surface


def molar_mass_g_mol(oxygen_percent: float) -> float:
    """Grams a mole of the mix."""
    share = oxygen_percent / 100
    return share * _OXYGEN_G_MOL + (1 - share) * _REST_G_MOL


def check(pressure_bar: float, temperature_c: float, oxygen_percent: float) -> None:
    """OutOfRange, in a sentence, on what the fit was not made for; NaN too."""
    if not LEAST_OXYGEN_PERCENT <= oxygen_percent <= MOST_OXYGEN_PERCENT:
        raise OutOfRange(f"Oxygen is to be 21 to 40 %, it is {oxygen_percent:.6g} %.")
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise OutOfRange(f"The temperature is to be -15 to 60 °C, it is {temperature_c:.6g} °C.")
    if not LEAST_BAR <= pressure_bar <= MOST_BAR:
        raise OutOfRange(f"The pressure is to be 1 to 350 bar absolute, it is {pressure_bar:.6g} bar.")


def _thermal(temperature_c: float) -> float:
    """R T in bar L/mol."""
    return _R_BAR_L * (temperature_c + ZERO_C_K)


def _terms(temperature_c: float, oxygen_percent: float) -> list[float]:
    """What each power of density (mol/L), from the first, is multiplied with in Z - 1."""
    tau = 300.0 / (temperature_c + ZERO_C_K)
    above = oxygen_percent / 100 - 0.21
    return [
        sum((a + above * (b + above * c)) * tau**n for n, (a, b, c) in enumerate(lines)) / 10**power
        for power, lines in enumerate(_FIT, start=1)
    ]


def _real_pressure(density: float, temperature_c: float, oxygen_percent: float) -> float:
    terms = _terms(temperature_c, oxygen_percent)
    z = 1 + sum(term * density**power for power, term in enumerate(terms, start=1))
    return density * _thermal(temperature_c) * z


def _real_density(pressure_bar: float, temperature_c: float, oxygen_percent: float) -> float:
    """By Newton's steps from the ideal gas; pressure rises with density all over the range."""
    terms = _terms(temperature_c, oxygen_percent)
    thermal = _thermal(temperature_c)
    density = pressure_bar / thermal
    for _ in range(_NEWTON_STEPS):
        z = 1 + sum(term * density**power for power, term in enumerate(terms, start=1))
        rise = 1 + sum((power + 1) * term * density**power for power, term in enumerate(terms, start=1))
        density -= (density * z - pressure_bar / thermal) / rise
    return density


def _ideal_pressure(density: float, temperature_c: float, oxygen_percent: float) -> float:
    return density * _thermal(temperature_c)


def _ideal_density(pressure_bar: float, temperature_c: float, oxygen_percent: float) -> float:
    return pressure_bar / _thermal(temperature_c)


# Against CoolProp 8.0.0: the ideal gas up to 12 bar over 5 K, 0.0019; the real gas over 1 to 20 K at some 2 000 points, 0.0044.
IDEAL = Law("ideal gas", 0.002, _ideal_density, _ideal_pressure)
REAL = Law("real gas", 0.005, _real_density, _real_pressure)
