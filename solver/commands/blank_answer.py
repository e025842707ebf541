"""The answer of ``platewright blank``, as tables to read and as an object for other programs."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.board import PureTone
from solver.advice.board_wood import HALF_SPOKEN, SPOKEN, BoardWood, Found
from solver.advice.fit_doubts import doubts_in
from solver.advice.fitted_wood import FittedTone
from solver.commands.tones import Json
from solver.core.units import GPA, GRAM, MM
from solver.modal.pitch import cents_between
from solver.plate.plate import Plate
from solver.plate.species import Constant
from solver.plate.wood_posterior import FITTED

_FORMS = {"twist": "twist", "along": "bending along x", "across": "bending along y"}


@dataclass(frozen=True, eq=False)
class BlankAnswer:
    """The board, what was found of its wood, by which entry of the log, and in which room it holds."""

    plate: Plate
    found: BoardWood
    entry: str
    room: str


def blank_as_json(answer: BlankAnswer) -> dict[str, Json]:
    """Return the object that ``--json`` prints: moduli in GPa, speeds in m/s, lengths in mm, mass in g."""
    found, board = answer.found, answer.found.board
    return {
        "title": answer.plate.title,
        "role": answer.plate.role,
        "entry": answer.entry,
        "room": answer.room,
        "board_mm": {
            "length": round(board.length / MM, 2),
            "width": round(board.width / MM, 2),
            "thickness": round(board.thickness / MM, 3),
        },
        "mass_g": round(found.modes.mass / GRAM, 2),
        "wood": {_key(constant): _constant(found, constant) for constant in FITTED},
        "speed_along_m_s": _figure(found.speed_along, 1.0, 0),
        "speed_across_m_s": _figure(found.speed_across, 1.0, 0),
        "radiation_m4_kg_s": _figure(found.radiation, 1.0, 2),
        "listen_for": [
            {
                "constant": constant,
                "form": tone.form,
                "low_hz": round(float(found.forecast.low[tone.index]), 1),
                "high_hz": round(float(found.forecast.high[tone.index]), 1),
            }
            for tone, constant in found.telling
        ],
        "tones": [_tone(found, tone) for tone in found.fit.tones],
        "doubts": [doubt.in_words for doubt in doubts_in(found.fit)],
    }


def _key(constant: Constant) -> str:
    return "density_kg_m3" if constant == "density" else f"{constant}_GPa"


def _unit(constant: Constant) -> float:
    return 1.0 if constant == "density" else GPA


def _figure(found: Found, unit: float, digits: int) -> dict[str, Json]:
    return {
        "value": round(found.value / unit, digits),
        "low": round(found.low / unit, digits),
        "high": round(found.high / unit, digits),
    }


def _constant(found: BoardWood, constant: Constant) -> dict[str, Json]:
    thin = found.thin.get(constant)
    return {
        **_figure(found.constant(constant), _unit(constant), 1 if constant == "density" else 4),
        "told_pct": round(100 * found.told(constant), 1),
        "from": said_of_source(found, constant),
        "thin_plate": None if thin is None else round(thin[1] / GPA, 4),
        "thin_plate_hz": None if thin is None else thin[0],
        "thin_plate_off_pct": None if thin is None else round(_off(found, constant, thin[1]), 1),
    }


def _off(found: BoardWood, constant: Constant, thin: float) -> float:
    """Return by how many per cent the formula differs from the model."""
    return 100 * (thin / found.constant(constant).value - 1)


def _tone(found: BoardWood, tone: FittedTone) -> dict[str, Json]:
    mode = tone.pairing.mode
    if mode is None:
        return {"heard_hz": tone.hz, "order": None, "form": None, "used": False}
    form = found.form_of(mode)
    return {
        "heard_hz": tone.hz,
        "order": mode + 1,
        "form": None if form is None else form.form,
        "used": tone.is_used,
        "fitted_hz": round(float(found.modes.hz[mode]), 3),
        "low_hz": round(float(found.forecast.low[mode]), 3),
        "high_hz": round(float(found.forecast.high[mode]), 3),
        "cents": round(cents_between(float(found.modes.hz[mode]), tone.hz), 1),
    }


def blank_as_tables(answer: BlankAnswer) -> Group:
    """Return the tables of the wood and of the tones, and what makers compare."""
    board, found = answer.found.board, answer.found
    head = (
        f"{board.length / MM:.1f} x {board.width / MM:.1f} x {board.thickness / MM:.2f} mm, "
        f"{found.modes.mass / GRAM:.1f} g; by log/{answer.entry}. The figures hold in {answer.room}."
    )
    said = [*_said_of_sound(found), *_said_of_formula(found), *_said_of_rest(found)]
    doubts = [doubt.in_words for doubt in doubts_in(found.fit)]
    return Group(
        Text(head),
        _wood_table(found),
        _tones_table(found),
        *(Text(line) for line in (*said, *doubts)),
    )


def _wood_table(found: BoardWood) -> Table:
    table = Table(title="The wood", title_justify="left")
    table.add_column("")
    for head in ("Value", "95 %", "Thin plate", "Off"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("From")
    for constant in FITTED:
        digits = 0 if constant == "density" else (3 if found.constant(constant).value < GPA else 2)
        value, unit = found.constant(constant), _unit(constant)
        thin = found.thin.get(constant)
        formula = ("", "") if thin is None else (f"{thin[1] / GPA:.{digits}f}", _percent(found, constant))
        name = "density kg/m3" if constant == "density" else f"{constant} GPa"
        interval = f"{value.low / unit:.{digits}f} to {value.high / unit:.{digits}f}"
        table.add_row(
            name, f"{value.value / unit:.{digits}f}", interval, *formula, said_of_source(found, constant)
        )
    return table


def _percent(found: BoardWood, constant: Constant) -> str:
    return f"{_off(found, constant, found.thin[constant][1]):+.0f} %"


def said_of_source(found: BoardWood, constant: Constant) -> str:
    """Say who determines a constant: the scales, the tones, both, or the species' table."""
    if constant == "density":
        return "mass and sizes"
    told = found.told(constant)
    if told >= SPOKEN:
        return "the tones"
    return "partly the tones" if told >= HALF_SPOKEN else "the species"


def _tones_table(found: BoardWood) -> Table:
    table = Table(title="Its tones", title_justify="left")
    for head in ("Heard Hz", "Order", "Model Hz", "95 %", "Cents", "What it is"):
        table.add_column(head, justify="left" if head == "What it is" else "right", no_wrap=True)
    for tone in sorted(found.fit.tones, key=lambda tone: tone.hz):
        mode = tone.pairing.mode
        if mode is None:
            table.add_row(f"{tone.hz:g}", "-", "", "", "", "no tone of this board")
            continue
        hz, low, high = (
            float(row[mode]) for row in (found.modes.hz, found.forecast.low, found.forecast.high)
        )
        table.add_row(
            f"{tone.hz:g}",
            f"{mode + 1}",
            f"{hz:.1f}",
            f"{low:.1f} to {high:.1f}",
            f"{cents_between(hz, tone.hz):+.0f}",
            _form_in_words(found.form_of(mode)) + ("" if tone.is_used else " (not used)"),
        )
    return table


def _form_in_words(tone: PureTone | None) -> str:
    return "" if tone is None else _FORMS[tone.form]


def _said_of_sound(found: BoardWood) -> Iterator[str]:
    """Yield speeds of sound and the ratio that makers compare, where the tones determine them."""
    if found.told("EL") >= SPOKEN:
        yield f"Sound goes along the grain at {_range(found.speed_along, 0)} m/s, sqrt(EL/density)."
    if found.told("ER") >= SPOKEN:
        yield f"Across it, sqrt(ER/density), at {_range(found.speed_across, 0)} m/s."
    if found.told("EL") >= SPOKEN:
        yield (
            f"Speed over density, sqrt(EL/density^3), is {_range(found.radiation, 1)} m4/(kg s): of two boards, plates "
            "carved to one stiffness along the grain are lighter from the one with the larger figure."
        )


def _range(found: Found, digits: int) -> str:
    return f"{found.value:.{digits}f} ({found.low:.{digits}f} to {found.high:.{digits}f})"


def _said_of_formula(found: BoardWood) -> Iterator[str]:
    if found.thin:
        tones = ", ".join(f"{constant} from {hz:g} Hz" for constant, (hz, _) in found.thin.items())
        yield (
            f"Thin plate: the formulas for one tone that is all twist or all bending ({tones}; McIntyre and Woodhouse "
            "1988, from memory). They leave out shear, and that a board twists and bends a little at once; the model "
            "does not."
        )


def _said_of_rest(found: BoardWood) -> Iterator[str]:
    """Yield which constants the tones say nothing of."""
    silent = [c for c in FITTED if c != "density" and found.told(c) < HALF_SPOKEN]
    if silent:
        yield (
            f"The tones say next to nothing of {', '.join(silent)}: these are the species' figures, taken as twice as "
            "uncertain as its boards differ."
        )
    for tone, constant in found.telling:
        low, high = (float(row[tone.index]) for row in (found.forecast.low, found.forecast.high))
        yield f"Listen for the {_FORMS[tone.form]}, between {low:.0f} and {high:.0f} Hz: it would tell {constant}."
    used = [tone for tone in found.fit.tones if tone.is_used]
    if used:
        off = 100 * float(np.mean([abs(found.fit.residual(tone)) for tone in used]))
        met = "one tone that was used" if len(used) == 1 else f"{len(used)} tones that were used"
        yield f"The model meets the {met} within {off:.2f} %{' on average' if len(used) > 1 else ''}."
