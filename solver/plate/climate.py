"""The weather in the wood: what a room does to its moisture, and moisture and warmth to its weight, size and stiffness.

Kinds of the figures: printed = seen in a copy of the source, transcribed = seen in another work's transcription, memory.
"""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.plate.species import SPECIES, Constant, Species
from solver.plate.wood import Wood

TEMPERATURES = (-10.0, 50.0)
HUMIDITIES = (5.0, 95.0)
"""Least and greatest temperature [°C] and relative humidity [%] of a room for which the rules are used."""

GROUPS: tuple[tuple[str, tuple[Constant, ...]], ...] = (
    ("along", ("EL",)),
    ("across", ("ER", "ET")),
    ("shear", ("GLR", "GLT", "GRT")),
)
"""The moduli by how they answer to the weather; every array of g = 3 rows below has this order."""

WET, DRY = 20.0, 6.0
TREND = {"across": (1.20, 0.77), "shear": (1.20, 0.80)}
"""Moduli at 6 and at 20 % moisture over those at 12 %: middle trend, Wood Handbook GTR-190, Table 5-14 (memory). Of the
same order: across the rings 2 to 3 times as sensitive as along, spruce and maple (I. Bremaud and J. Gril, Holzforschung 75
(2021) 313, printed abstract)."""

VELOCITY_LOSS = 0.0065
"""Share of the speed of sound along the grain that 1 % moisture takes, Scots pine of 11.8 to 21.4 % moisture (M. J. Montero
et al., Maderas 17(2) (2015) 407, printed abstract)."""

ROOM_C, HOT_C, COLD_C = 20.0, 50.0, -50.0
HOT = {"along": 0.93, "across": 0.65, "shear": 0.75}
COLD_ALONG = 1.17
"""Moduli at +50 and at -50 °C over those at 20: Wood Handbook GTR-190, Table 5-15 (transcribed), along and across at
12 % moisture, shear above fibre saturation. The table has the cold for the modulus along the grain only."""


@dataclass(frozen=True)
class Climate:
    """The air of a room."""

    temperature_c: float
    humidity_pct: float


@dataclass(frozen=True)
class Condition:
    """What the wood has taken on: water as a share [%] of its dry mass, and the temperature."""

    moisture_pct: float
    temperature_c: float


def checked_climate(temperature_c: float, humidity_pct: float, where: str) -> Climate:
    """Return the climate of a room for which the rules hold; ``where`` says who named it.

    Raises
    ------
    InputError
        If it is colder or hotter, drier or damper than those.
    """
    for value, (low, high), what in (
        (temperature_c, TEMPERATURES, "°C"),
        (humidity_pct, HUMIDITIES, "% humidity"),
    ):
        if not low <= value <= high:
            raise InputError(
                f"{where} is {value:g} {what}; expected {low:g} to {high:g} {what}. "
                f"{_slip(temperature_c, humidity_pct) or 'Check the instrument.'}"
            )
    return Climate(temperature_c, humidity_pct)


def _slip(temperature_c: float, humidity_pct: float) -> str:
    """Name the usual slips that put a climate out of range, where they explain it."""
    slips = (
        ("the humidity was a share of one", temperature_c, 100 * humidity_pct),
        ("that was degrees Fahrenheit", (temperature_c - 32) / 1.8, humidity_pct),
        ("temperature and humidity were exchanged", humidity_pct, temperature_c),
    )
    known = [
        f"{said}, write {t:.4g},{h:.4g}"
        for said, t, h in slips
        if TEMPERATURES[0] <= t <= TEMPERATURES[1] and HUMIDITIES[0] <= h <= HUMIDITIES[1]
    ]
    return f"If {'; if '.join(known)}." if known else ""


def equilibrium_moisture(climate: Climate) -> float:
    """Return the moisture [%] that wood comes to in a room.

    ``M = 1800/W [K h/(1-K h) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2)]`` with W, K, K1, K2 polynomials of
    the temperature: Wood Handbook GTR-190, eq. (4-5) (transcribed). Its table begins at -1.1 °C; below it is carried on.
    """
    t, h = climate.temperature_c, climate.humidity_pct / 100
    W = 349 + 1.29 * t + 0.0135 * t**2
    K = 0.805 + 0.000736 * t - 0.00000273 * t**2
    K1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    K2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    first, second = K1 * K * h, K1 * K2 * (K * h) ** 2
    return 1800 / W * (K * h / (1 - K * h) + (first + 2 * second) / (1 + first + second))


def settled_in(climate: Climate) -> Condition:
    """Return the condition of wood that has lain in a room until it changes no more."""
    return Condition(equilibrium_moisture(climate), climate.temperature_c)


def property_at(moisture_pct: float, at_12: float, green: float, meeting_pct: float) -> float:
    """Return a property of the wood at some moisture, from those at 12 % and of the green wood.

    ``P = P12 (P12/Pg)^((12-M)/(Mp-12))``, as when green from ``Mp`` on: Wood Handbook GTR-190, eq. (5-3).
    """
    dryness = 12.0 - min(moisture_pct, meeting_pct)
    return float(at_12 * (at_12 / green) ** (dryness / (meeting_pct - 12.0)))


def weather_species(wood: Wood) -> Species:
    """Return the species whose drying stands for a wood: its own, else that of a spruce or, from 500 kg/m3, a maple."""
    name = wood.species or ("Sitka spruce" if wood.density < 500.0 else "sugar maple")
    return next(species for species in SPECIES if species.name == name)


def moisture_losses(wood: Wood) -> Floats:
    """Return how much the moduli fall per 1 % moisture, ``-d ln P/dM``, least and most, as (g, 2).

    Along the grain the two are eq. (5-3) with the handbook's green and dry bending modulus, and what the measured speed of
    sound leaves for the modulus: ``2 d ln c - d ln density``. The handbook states eq. (5-3) for neither ER nor the shear
    moduli: the least carries over the least of EL, the most is the middle trend of Table 5-14.
    """
    drying = weather_species(wood).drying
    dry_over_green = drying.stiffening.value
    a_little_drier = property_at(11.0, dry_over_green, 1.0, drying.meeting.value)
    by_rule = float(np.log(a_little_drier / dry_over_green))
    heavier = 0.01 / 1.12 - drying.swelling_R.value - drying.swelling_T.value
    by_sound = 2 * VELOCITY_LOSS - heavier
    least, most = sorted((by_rule, by_sound))
    trends = [float(np.log(dry / wet)) / (WET - DRY) for dry, wet in TREND.values()]
    return np.array([[least, most], *([least, max(trend, most)] for trend in trends)])


def warmth(temperature_c: float) -> Floats:
    """Return ``ln P`` of the moduli against a room of 20 °C by the mild and by the strong rule, as (g, 2).

    Straight in the logarithm on either side of 20 °C. The mild rule carries the modulus along the grain over to all; the
    strong one has the table's own fall across the grain and in shear, carried on below 20 °C.
    """
    hot = {name: float(np.log(share)) / (HOT_C - ROOM_C) for name, share in HOT.items()}
    cold = float(np.log(COLD_ALONG)) / (COLD_C - ROOM_C)
    along = hot["along"] if temperature_c > ROOM_C else cold
    slopes = [[along, along], [along, hot["across"]], [along, hot["shear"]]]
    return np.array(slopes) * (temperature_c - ROOM_C)


def stiffness_change(wood: Wood, start: Condition, end: Condition) -> Floats:
    """Return the change of ``ln P`` of the moduli from one condition to another, low and high, as (g, 2).

    Moisture and warmth are each taken by both of their rules; the band holds every combination.
    """
    meeting = weather_species(wood).drying.meeting.value
    wetter = min(end.moisture_pct, meeting) - min(start.moisture_pct, meeting)
    wet = -wetter * moisture_losses(wood)
    warm = warmth(end.temperature_c) - warmth(start.temperature_c)
    return np.asarray(np.sort(wet, axis=1) + np.sort(warm, axis=1))


def swelling(wood: Wood) -> Floats:
    """Return ``d ln L/dM`` (3,) of length, width and height of a plate per 1 % moisture.

    Wood Handbook GTR-190, eq. (13-2) ``dL = C L dM`` with the coefficients of Table 13-5 for R and T, turned into the
    plate; along the grain, where wood swells by some 0.1 % from dry to green, it is left out. Taken in the logarithm, so
    that the way back undoes the way there.
    """
    drying = weather_species(wood).drying
    strains = np.array([0.0, drying.swelling_R.value, drying.swelling_T.value])
    return np.asarray((wood.axes() ** 2).T @ strains)


def swollen_by(wood: Wood, wetter_pct: float) -> Floats:
    """Return the factors (3,) on length, width and height that so much more moisture [%] brings."""
    return np.asarray(np.exp(swelling(wood) * wetter_pct))


def mass_factor(start: Condition, end: Condition) -> float:
    """Return by how much wood is heavier in one condition than in another: ``(1 + M2)/(1 + M1)``."""
    return (100 + end.moisture_pct) / (100 + start.moisture_pct)
