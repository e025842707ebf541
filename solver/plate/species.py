"""The woods that are known by name: their usual constants, and where each figure comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches
from typing import Literal

from solver.core.errors import InputError
from solver.core.units import GPA
from solver.plate.wood import Wood

Kind = Literal["printed", "transcribed", "memory", "assumed"]
Constant = Literal["density", "EL", "ER", "ET", "GLR", "GLT", "GRT", "nu_LR", "nu_LT", "nu_RT"]
CONSTANTS: tuple[Constant, ...] = (
    "density",
    "EL",
    "ER",
    "ET",
    "GLR",
    "GLT",
    "GRT",
    "nu_LR",
    "nu_LT",
    "nu_RT",
)
RATIOS: tuple[Constant, ...] = ("ET", "ER", "GLR", "GLT", "GRT")
POISSON: tuple[Constant, ...] = ("nu_LR", "nu_LT", "nu_RT")


@dataclass(frozen=True)
class Figure:
    """One figure with the place it comes from and how it was come by."""

    value: float
    source: str
    kind: Kind


@dataclass(frozen=True)
class Drying:
    """How a wood answers to moisture.

    ``swelling_R``, ``swelling_T``: share of the width that 1 % moisture adds across and along the rings; ``stiffening``:
    bending modulus at 12 % over that of the green wood; ``meeting``: the moisture [%] above which it stays as when green.
    """

    swelling_R: Figure
    swelling_T: Figure
    stiffening: Figure
    meeting: Figure


@dataclass(frozen=True)
class Species:
    """A wood at about 12 % moisture: density [kg/m3], EL [Pa], Poisson ratios, other moduli as shares of EL.

    Handbooks state the moduli across the grain and in shear as ratios, so that they follow a board's own EL.
    """

    name: str
    figures: Mapping[Constant, Figure]
    drying: Drying

    def value(self, constant: Constant, EL: float) -> float:
        """Return one constant in SI for a board whose modulus along the grain is ``EL`` [Pa]."""
        return self.figures[constant].value * (EL if constant in RATIOS else 1.0)


_TABLE_51 = "Wood Handbook, GTR-190, Table 5-1"
_TABLE_52 = "Wood Handbook, GTR-190, Table 5-2"
_TABLE_53 = "Wood Handbook, GTR-190, Table 5-3a"
_TABLE_513 = "Wood Handbook, GTR-190, Table 5-13"
_TABLE_135 = "Wood Handbook, GTR-190, Table 13-5"
_HEARMON = "Hearmon 1948"


def _shares(values: tuple[float, ...], source: str, kind: Kind) -> dict[Constant, Figure]:
    """Name the ratios to EL in the order of the printed table: ET, ER, GLR, GLT, and GRT where given."""
    return {name: Figure(value, source, kind) for name, value in zip(RATIOS, values, strict=False)}


def _poisson(values: tuple[float, float, float], source: str, kind: Kind) -> dict[Constant, Figure]:
    """Name nu_LR, nu_LT, nu_RT; the other three follow by symmetry, which the printed ones would break."""
    return {name: Figure(value, source, kind) for name, value in zip(POISSON, values, strict=True)}


def _along(density: Figure, EL: Figure) -> dict[Constant, Figure]:
    """Name the two that differ most from board to board."""
    return {"density": density, "EL": EL}


def _board(bending_mpa: float, gravity: float, kind: Kind) -> dict[Constant, Figure]:
    """Density and EL from a handbook's bending test at 12 % moisture.

    ``density = 1000 gravity 1.12``: the specific gravity is oven-dry mass over volume at 12 %.
    ``EL = 1.10 bending modulus``: the span of the test lets shear take a tenth (note to Table 5-1).
    """
    weighed = f"{_TABLE_53}, specific gravity {gravity:.2f} with 12 % moisture"
    bent = f"{_TABLE_53}, 1.10 times the bending modulus {bending_mpa:.0f} MPa"
    return _along(Figure(round(1120 * gravity), weighed, kind), Figure(1.10e6 * bending_mpa, bent, kind))


def _borrowed(lender: Mapping[Constant, Figure], name: str, *constants: Constant) -> dict[Constant, Figure]:
    """Take constants that the handbook does not give for a wood from the listed wood most like it."""
    why = f"assumed as for {name}, since the handbook gives none for this wood"
    return {c: Figure(lender[c].value, why, "assumed") for c in constants}


def _drying(
    swelling: tuple[float, float], dry_mpa: float, green_mpa: float, kind: Kind, meeting: float = 25.0
) -> Drying:
    """Name the figures of a wood's drying; ``kind`` is how the bending modulus of the green wood was come by."""
    bent = f"{_TABLE_53}, bending modulus {dry_mpa:.0f} MPa at 12 % over {green_mpa:.0f} MPa green"
    R, T = (Figure(value, _TABLE_135, "transcribed") for value in swelling)
    return Drying(R, T, Figure(dry_mpa / green_mpa, bent, kind), Figure(meeting, _TABLE_513, "transcribed"))


def _drying_as(lender: Drying, name: str) -> Drying:
    """Take the drying of the listed wood most like one of which the handbook says nothing."""
    why = f"assumed as for {name}, since the handbook does not list this wood"
    return Drying(*(Figure(getattr(lender, f.name).value, why, "assumed") for f in fields(Drying)))


_SITKA = (
    _board(10800, 0.40, "memory")
    | _shares((0.043, 0.078, 0.064, 0.061, 0.003), _TABLE_51, "transcribed")
    | _poisson((0.372, 0.467, 0.435), _TABLE_52, "transcribed")
)
_ENGELMANN = (
    _board(8900, 0.35, "transcribed")
    | _shares((0.059, 0.128, 0.124, 0.120, 0.010), _TABLE_51, "memory")
    | _shares((0.059,), _TABLE_51, "transcribed")
    | _poisson((0.422, 0.462, 0.530), _TABLE_52, "memory")
)
_NORWAY = (
    _along(Figure(390.0, _HEARMON, "transcribed"), Figure(10.9 * GPA, _HEARMON, "transcribed"))
    | _shares(
        tuple(g / 10.9 for g in (0.42, 0.64, 0.58, 0.59, 0.026)),
        f"{_HEARMON}, as a share of its EL",
        "transcribed",
    )
    | _poisson((0.39, 0.49, 0.64), _HEARMON, "transcribed")
)
_WALNUT = (
    _board(11600, 0.55, "memory")
    | _shares((0.056, 0.106, 0.085, 0.062, 0.021), _TABLE_51, "memory")
    | _poisson((0.495, 0.632, 0.718), _TABLE_52, "memory")
)
_SUGAR_MAPLE = (
    _board(12600, 0.63, "transcribed")
    | _shares((0.065, 0.132, 0.111, 0.063), _TABLE_51, "transcribed")
    | _borrowed(_WALNUT, "black walnut", "GRT")
    | _poisson((0.424, 0.476, 0.774), _TABLE_52, "transcribed")
)
_RED_MAPLE = (
    _board(11300, 0.54, "memory")
    | _shares((0.067, 0.140, 0.133, 0.074), _TABLE_51, "memory")
    | _borrowed(_WALNUT, "black walnut", "GRT")
    | _poisson((0.434, 0.509, 0.762), _TABLE_52, "memory")
)
_CHERRY = (
    _board(10300, 0.50, "transcribed")
    | _shares((0.086, 0.197, 0.147, 0.097), _TABLE_51, "memory")
    | _borrowed(_WALNUT, "black walnut", "GRT")
    | _poisson((0.392, 0.428, 0.695), _TABLE_52, "memory")
)
_BIGLEAF = _board(10000, 0.48, "memory") | _borrowed(_RED_MAPLE, "red maple", *RATIOS, *POISSON)
_ASH = (
    _board(12000, 0.60, "transcribed")
    | _shares((0.080, 0.125, 0.109, 0.077), _TABLE_51, "memory")
    | _borrowed(_WALNUT, "black walnut", "GRT")
    | _poisson((0.371, 0.440, 0.684), _TABLE_52, "memory")
)
_LOCUST = _board(14100, 0.69, "memory") | _borrowed(_SUGAR_MAPLE, "sugar maple", *RATIOS, *POISSON)

_SITKA_DRYING = _drying((0.00148, 0.00263), 10800, 8500, "memory", 27.0)

SPECIES: tuple[Species, ...] = (
    Species("Sitka spruce", _SITKA, _SITKA_DRYING),
    Species("Engelmann spruce", _ENGELMANN, _drying((0.00130, 0.00248), 8900, 7100, "transcribed")),
    Species("Norway spruce", _NORWAY, _drying_as(_SITKA_DRYING, "Sitka spruce")),
    Species("sugar maple", _SUGAR_MAPLE, _drying((0.00165, 0.00353), 12600, 10700, "transcribed")),
    Species("red maple", _RED_MAPLE, _drying((0.00137, 0.00289), 11300, 9600, "memory")),
    Species("bigleaf maple", _BIGLEAF, _drying((0.00126, 0.00248), 10000, 7600, "memory")),
    Species("black walnut", _WALNUT, _drying((0.00190, 0.00274), 11600, 9800, "memory")),
    Species("black cherry", _CHERRY, _drying((0.00126, 0.00248), 10300, 9000, "transcribed")),
    Species("white ash", _ASH, _drying((0.00169, 0.00274), 12000, 9900, "transcribed", 24.0)),
    Species("black locust", _LOCUST, _drying((0.00158, 0.00252), 14100, 12800, "memory")),
)


def find_species(name: str, where: str) -> Species:
    """Return the wood of that name, whatever its capitals and spaces.

    ``where`` says which entry named it. Raises InputError with the names that come nearest.
    """
    known = {species.name.lower(): species for species in SPECIES}
    words = name.lower().split()
    if (wanted := " ".join(words)) in known:
        return known[wanted]
    kin = [key for key in known if words and words[-1] in key.split()]
    near = [known[key].name for key in get_close_matches(wanted, known, n=1, cutoff=0.75) or kin]
    advice = (
        f"Did you mean {' or '.join(near)}?" if near else f"They are {', '.join(s.name for s in SPECIES)}."
    )
    raise InputError(
        f'{where} is "{name}"; expected a wood that is known by name. {advice} '
        "Any other wood can be described by its own constants, without a species."
    )


def wood_of(
    species: Species | None,
    given: Mapping[Constant, float],
    where: str,
    grain: float = 0.0,
    ring: float = 0.0,
) -> Wood:
    """Return the wood of a board: what its maker knows of it, and the rest from its species.

    ``given`` holds constants in SI and goes before the species; moduli that are not given follow from EL by
    the species' ratios. ``grain``, ``ring`` [rad]. Raises InputError if something is missing, or if no such
    wood can exist.
    """
    if species is None and (missing := [c for c in CONSTANTS if c not in given]):
        raise InputError(
            f"{where}: {' '.join(missing)} not given; expected a species, which fills in what is not given"
        )
    values = dict(given)
    if species is not None:
        values["EL"] = given.get("EL", species.figures["EL"].value)
        values = {c: given.get(c, species.value(c, values["EL"])) for c in CONSTANTS}
    wood = Wood(**values, grain=grain, ring=ring, species=species.name if species else "")
    _check_possible(wood, where)
    return wood


def _check_possible(wood: Wood, where: str) -> None:
    """Refuse constants that no wood has: softest along the grain, or giving energy away when strained."""
    for name in RATIOS:
        if (value := getattr(wood, name)) > wood.EL:
            raise InputError(
                f"{where}: {name} is {value / GPA:.4g} GPa and EL {wood.EL / GPA:.4g} GPa; "
                "expected wood to be stiffest along the grain. Are the two exchanged?"
            )
    if not wood.is_stable():
        moduli = f"EL {wood.EL / GPA:.4g}, ER {wood.ER / GPA:.4g}, ET {wood.ET / GPA:.4g} GPa"
        raise InputError(
            f"{where}: nu_LR {wood.nu_LR:.4g}, nu_LT {wood.nu_LT:.4g}, nu_RT {wood.nu_RT:.4g} cannot go with "
            f"{moduli}; expected constants by which every strain costs energy. Lower the Poisson ratios "
            "(nu_LR: pulled along L, it shrinks in R)."
        )
