"""The answer of ``platewright fit``, as tables to read and as an object for other programs."""

from collections.abc import Iterator, Sequence
from datetime import datetime

import numpy as np
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from solver.advice.fit_doubt import Doubt
from solver.advice.fit_doubts import doubts_in
from solver.advice.fit_evidence import FittedMass
from solver.advice.fitted_wood import FittedTone, WoodFit
from solver.advice.forecast import tone_keys
from solver.advice.wood_prior import SPREADS
from solver.commands.tones import Json
from solver.core.arrays import Floats
from solver.core.units import GPA, GRAM
from solver.plate.mode_label import key_called
from solver.plate.plate import Plate
from solver.plate.plate_doubt import READING
from solver.plate.species import Constant
from solver.plate.wood_posterior import ARCH, FITTED, PARAMETERS

CENTS = 1200 / np.log(2)
"""Cents in a change of one in the natural logarithm of a frequency."""
DETERMINED, PRIORS_WORD = 0.75, 0.25
"""Share of the variance taken away by the data from which they determine a constant, and up to which they say nothing."""


def fit_as_json(
    plate: Plate, fit: WoodFit, names: Sequence[str], written: datetime | None
) -> dict[str, Json]:
    """Return the object that ``--json`` prints."""
    return {
        "title": plate.title,
        "role": plate.role,
        "entries": list(names),
        "wood": {_unit_name(constant): _constant(fit, constant) for constant in FITTED},
        "plate": {name: _of_the_plate(fit, name) for name in (*ARCH, "caliper", "bar")},
        "modes": [_tone(fit, tone) for tone in fit.tones],
        "doubts": [_doubt(doubt) for doubt in doubts_in(fit)],
        "mean_residual_pct": round(100 * mean_residual(fit), 3),
        "correlations": _correlations(fit),
        "before_the_fit_pct": [*_shares_as_json(fit)],
        "masses": [_mass(mass) for mass in fit.masses],
        "written": None if written is None else written.isoformat(timespec="seconds"),
    }


def _of_the_plate(fit: WoodFit, name: str) -> dict[str, Json]:
    place = PARAMETERS.index(name)
    return {
        "value": round(fit.posterior[name], 5),
        "sd": round(float(fit.posterior.spreads[place]), 5),
        "told_by_data": round(float(fit.told_by_data[place]), 3),
    }


def _correlations(fit: WoodFit) -> dict[str, Json]:
    """Return how each constant hangs together with those before it."""
    found = fit.posterior.correlations
    return {
        one: {other: round(float(found[i, j]), 3) for j, other in enumerate(FITTED[:i])}
        for i, one in enumerate(FITTED)
    }


def _mass(mass: FittedMass) -> dict[str, Json]:
    return {
        "entry": mass.entry,
        "measured_g": round(mass.mass / GRAM, 2),
        "expected_g": round(mass.expected / GRAM, 2),
        "low_g": round(mass.low / GRAM, 2),
        "high_g": round(mass.high / GRAM, 2),
        "used": bool(mass.is_used),
    }


def _unit_name(constant: Constant) -> str:
    return "density_kg_m3" if constant == "density" else f"{constant}_GPa"


def _scale(constant: Constant) -> float:
    return 1.0 if constant == "density" else 1 / GPA


def _constant(fit: WoodFit, constant: Constant) -> dict[str, Json]:
    scale, told = _scale(constant), float(fit.told_by_data[FITTED.index(constant)])
    low, high = fit.posterior.interval(constant)
    return {
        "value": float(f"{scale * fit.posterior[constant]:.6g}"),
        "low": float(f"{scale * low:.6g}"),
        "high": float(f"{scale * high:.6g}"),
        "before": float(f"{scale * float(getattr(fit.prior.wood, constant)):.6g}"),
        "told_by_data": round(told, 3),
        "in_words": said_of_share(told),
    }


def said_of_share(told: float) -> str:
    """Say who determines a constant, by the share of its variance that the data took away."""
    if told >= DETERMINED:
        return "the log determines it"
    return "still the table's word" if told <= PRIORS_WORD else "between log and table"


def _doubt(doubt: Doubt) -> dict[str, Json]:
    return {
        "kind": doubt.kind,
        "entry": doubt.entry,
        "mode": doubt.mode,
        "hz": doubt.hz,
        "better": doubt.better,
        "in_words": doubt.in_words,
    }


def _tone(fit: WoodFit, tone: FittedTone) -> dict[str, Json]:
    place = tone.pairing.mode
    key = None if place is None else fit.keys[place]
    off = None if place is None else fit.residual(tone)
    return {
        "entry": tone.entry,
        "noted_mode": tone.number,
        "mode": None if key is None or key.startswith("#") else key,
        "order": None if place is None else place - int(np.argmax(fit.states == tone.state)) + 1,
        "measured_hz": tone.hz,
        "fitted_hz": None if off is None else round(tone.hz * float(np.exp(-off)), 3),
        "off_pct": None if off is None else round(100 * float(np.expm1(off)), 2),
        "off_cents": None if off is None else round(float(CENTS * off), 1),
        "used": tone.is_used,
        "weight": round(tone.weight, 2),
        "probability": round(tone.pairing.probability, 3),
    }


def mean_residual(fit: WoodFit) -> float:
    """Return the mean over the paired tones of how much [-] they lie off what the fitted wood makes of them."""
    off = [abs(fit.residual(tone)) for tone in fit.tones if tone.is_used]
    return float(np.mean(off)) if off else 0.0


def shares_before(fit: WoodFit) -> dict[str, Floats]:
    """Return the standard deviations (k,) [-] that each cause gave each tone of the newest state before the fit."""
    response, spread = fit.response, np.sqrt(np.diag(fit.before))
    moved = response.slopes * spread
    n, arch = len(FITTED), [PARAMETERS.index(way) for way in ARCH]
    wood = np.einsum("ka,ab,kb->k", response.slopes[:, :n], fit.before[:n, :n], response.slopes[:, :n])
    thickness = moved[:, PARAMETERS.index("caliper")] ** 2 + (response.uneven**2).sum(axis=1)
    rest = (
        response.rest**2
        + (response.common**2).sum(axis=1)
        - response.askew**2
        + moved[:, PARAMETERS.index("bar")] ** 2
    )
    return {
        "wood": np.sqrt(wood),
        "arch": np.sqrt((moved[:, arch] ** 2).sum(axis=1)),
        "thickness": np.sqrt(thickness),
        "grain, rings": response.askew,
        "holes, bar, model": np.sqrt(rest),
        "reading": np.full(len(wood), READING),
    }


def _shares_as_json(fit: WoodFit) -> Iterator[Json]:
    shares = shares_before(fit)
    for i, name in enumerate(fit.response.modes.names):
        causes: dict[str, Json] = {cause: round(100 * float(sd[i]), 2) for cause, sd in shares.items()}
        yield {"order": i + 1, "mode": name, **causes}


def fit_as_tables(fit: WoodFit, names: Sequence[str], written: datetime | None) -> Group:
    """Return the tables of the wood and of the tones, and what to make of them."""
    parts: list[RenderableType] = [Text(f"Fitted to {', '.join(f'log/{name}' for name in names)}.")]
    parts += [_wood_table(fit), Text(_said_of_plate(fit)), _tones_table(fit), Text(_said_of_residual(fit))]
    parts += [_shares_table(fit), *(Text(line) for line in _said_of_prior(fit))]
    parts += [Text(f"Look at: {doubt.in_words}", "bold") for doubt in doubts_in(fit)]
    parts.append(Text(_said_of_writing(written)))
    return Group(*parts)


def _wood_table(fit: WoodFit) -> Table:
    table = Table(title="The wood", title_justify="left")
    for head in ("Constant", "Before", "Fitted", "95 % from", "to", "Who says so"):
        table.add_column(head, justify="left" if head in ("Constant", "Who says so") else "right")
    for constant in FITTED:
        scale, digits = _scale(constant), 0 if constant == "density" else 3
        low, high = fit.posterior.interval(constant)
        figures = (float(getattr(fit.prior.wood, constant)), fit.posterior[constant], low, high)
        told = float(fit.told_by_data[FITTED.index(constant)])
        unit = "kg/m3" if constant == "density" else "GPa"
        table.add_row(
            f"{constant}, {unit}",
            *(f"{scale * figure:.{digits}f}" for figure in figures),
            f"{said_of_share(told)} ({100 * told:.0f} %)",
        )
    return table


def _said_of_plate(fit: WoodFit) -> str:
    found = fit.posterior
    arch = "The plate is flat."
    if fit.before[PARAMETERS.index("rise"), PARAMETERS.index("rise")] > 0:
        arch = (
            f"With it the arch: {100 * np.expm1(found['rise']):+.1f} % in rise, fullness {found['across']:+.2f} across and "
            f"{found['along']:+.2f} along, where 0.1 lifts the surface by a fortieth of the rise half-way up."
        )
    return f"{arch} Every thickness is {found['caliper']:+.3f} mm off what was read."


def _tones_table(fit: WoodFit) -> Table:
    table = Table(title="The tones", title_justify="left")
    several = len({tone.entry for tone in fit.tones}) > 1
    entry = ("Entry",) if several else ()
    for head in (*entry, "Noted", "Taken for", "Measured Hz", "Fitted Hz", "Off %", "Cents", ""):
        right = head[-1:] in ("z", "%", "s")
        table.add_column(head, justify="right" if right else "left", overflow="fold")
    for tone in fit.tones:
        place = tone.pairing.mode
        figures = ["-", "-", "-"]
        if place is not None:
            off = fit.residual(tone)
            figures = [
                f"{tone.hz * np.exp(-off):.1f}",
                f"{100 * np.expm1(off):+.2f}",
                f"{CENTS * off:+.0f}",
            ]
        note = "" if tone.weight == 1 else f"counts {100 * tone.weight:.0f} %" if tone.is_used else "not used"
        taken = "no mode" if place is None else key_called(fit.keys[place])
        cells = (tone.number or "-", taken, f"{tone.hz:.1f}", *figures, note)
        table.add_row(*((tone.entry.removesuffix(".toml"),) if several else ()), *cells)
    return table


def _said_of_residual(fit: WoodFit) -> str:
    used = sum(tone.is_used for tone in fit.tones)
    weighed = sum(mass.is_used for mass in fit.masses)
    return (
        f"{used} of {len(fit.tones)} tones and {weighed} of {len(fit.masses)} masses were used; the tones lie "
        f"{100 * mean_residual(fit):.2f} % off on the mean. They are compared in one climate, as far as rooms are noted."
    )


def _shares_table(fit: WoodFit) -> Table:
    table = Table(title="How far each tone was open before, %: by what", title_justify="left")
    table.add_column("Tone")
    shares = shares_before(fit)
    for cause in shares:
        table.add_column(cause, justify="right")
    for i, key in enumerate(tone_keys(fit.response.modes)):
        table.add_row(key_called(key), *(f"{100 * float(sd[i]):.1f}" for sd in shares.values()))
    return table


def _said_of_prior(fit: WoodFit) -> Iterator[str]:
    """Yield where the spreads come from, and which constants cannot be told apart."""
    sources = {f"{name}: {spread.source}" for name, spread in SPREADS.items() if name in ("EL", "ER", "GRT")}
    yield f"Boards stray from the middle before: {'; '.join(sorted(sources))}. The data share is of the variance."
    together = np.abs(np.tril(fit.posterior.correlations, -1))
    i, j = np.unravel_index(int(together.argmax()), together.shape)
    r = float(fit.posterior.correlations[i, j])
    yield (
        f"{FITTED[i]} and {FITTED[j]} are the least told apart (correlation {r:+.2f}): where one is higher, the other is "
        f"{'higher' if r > 0 else 'lower'} too."
    )


def _said_of_writing(written: datetime | None) -> str:
    if written is None:
        return "Nothing was written. With --write the fitted wood goes into plate.toml, beside the old one."
    return (
        f"Written into plate.toml as [[fitted]] of {written:%Y-%m-%d %H:%M}. It holds from now on; [wood] stands as it "
        "was and holds again when the record is taken out."
    )
