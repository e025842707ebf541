"""A made-up book: plates with logs of many entries, each carved from thick to thin in changing weather."""

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

WOODS = {"top": ("Norway spruce", "Sitka spruce"), "back": ("sugar maple", "red maple")}
BEGUN = datetime(2020, 1, 7, 18, 0, tzinfo=UTC)


def write_book(folder: Path, plates: int, entries: int, readings: int = 150) -> Path:
    """Write so many plate folders with so many entries each, and return the folder in which they lie."""
    for number in range(plates):
        write_plate(folder / f"plate-{number:04d}", number, entries, readings)
    return folder


def write_plate(folder: Path, number: int, entries: int, readings: int) -> None:
    chance = random.Random(number)
    role = "top" if number % 3 else "back"
    heavy = chance.uniform(0.92, 1.08)
    (folder / "log").mkdir(parents=True)
    (folder / "plate.toml").write_text(
        f'format = 1\ntitle = "Plate {number}, invented"\nrole = "{role}"\n[outline]\nfile = "outline.csv"\n'
        f'[arch]\nrise_mm = 15.5\nchannel_mm = 9.0\n[thickness]\nfile = "thickness.csv"\n'
        f'[wood]\nspecies = "{chance.choice(WOODS[role])}"\ndensity_kg_m3 = {400 * heavy:.0f}\n'
        f"ring_deg = {chance.choice((0.0, 5.0, 30.0, 90.0))}\n"
        "[climate]\ntemperature_c = 20.0\nhumidity_pct = 50.0\n[wanted]\nmodes_hz = { 2 = 152.0, 5 = 350.0 }\n"
    )
    rows = (
        f"{chance.uniform(0, 356):.1f},{chance.uniform(-100, 100):.1f},{heavy * chance.gauss(2.8, 0.2):.2f}"
        for _ in range(readings)
    )
    (folder / "thickness.csv").write_text("x_mm,y_mm,t_mm\n" + "\n".join(rows) + "\n")
    for name, text in entry_texts(number, entries, heavy, chance):
        (folder / "log" / name).write_text(text)


def entry_texts(number: int, entries: int, heavy: float, chance: random.Random) -> Iterator[tuple[str, str]]:
    """Yield the names and texts of a log: every entry thinner than the one before, a week later."""
    for step in range(entries):
        thick = heavy * (1.3 - 0.3 * step / max(entries - 1, 1))
        taken = BEGUN + timedelta(days=30 * number + 7 * step, seconds=chance.randrange(3600))
        modes = ", ".join(
            f"{mode} = {hz * thick * chance.gauss(1, 0.02):.1f}"
            for mode, hz in (("1", 86), ("2", 155), ("5", 350))
        )
        yield (
            f"{taken:%Y-%m-%dT%H%M%S}.toml",
            (
                f'taken = {taken.isoformat()}\nstage = "pass {step // 3}"\ntemperature_c = {chance.uniform(16, 24):.1f}\n'
                f"humidity_pct = {chance.uniform(40, 65):.0f}\nmass_g = {66 * thick:.1f}\n"
                f'modes_hz = {{ {modes} }}\ntones_hz = [{225 * thick:.1f}]\nnote = "scraped the lower bouts"\n'
            ),
        )
