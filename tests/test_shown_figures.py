"""What the program shows as an example is no figure that the tests check it by: it might pass by repeating itself."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from solver.stock import LIKE, write_stock_plate

ROOT = Path(__file__).parents[1]
CHECKED_BY = re.compile(r"(?<![\d.])(?:350|372|105\.5|2\.4)(?:\.?0*)(?![\d.]*\d)")
"""Mode 5 [Hz] of a top and of a back, the cents between them, and a thickness [mm] (common practice, no source)."""


def shown_by(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if CHECKED_BY.search(line)]


def test_the_search_finds_them() -> None:
    found = ["5 = 350.0", "5=372", "waist=2.40"]
    assert shown_by("\n".join([*found, "12350", "2.45", "0.350", "105.52"])) == found


@pytest.mark.parametrize("path", sorted(ROOT.glob("cases/**/*.toml")), ids=lambda path: path.parent.name)
def test_no_demonstration_has_one(path: Path) -> None:
    assert shown_by(path.read_text()) == []


@pytest.mark.parametrize("like", LIKE)
def test_no_stock_plate_wants_one(like: str, tmp_path: Path) -> None:
    write_stock_plate(tmp_path / like, like)
    assert shown_by((tmp_path / like / "plate.toml").read_text()) == []


def test_the_readme_has_none() -> None:
    assert shown_by((ROOT / "README.md").read_text()) == []


def test_no_help_example_or_message_has_one() -> None:
    for path in [*ROOT.glob("solver/**/*.py"), *ROOT.glob("meshes/**/*.py")]:
        assert shown_by("\n".join(_strings(path))) == [], path
    for path in ROOT.glob("solver/bench/static/**/*.js"):
        assert shown_by("\n".join(re.findall(r'"[^"\n]*"|`[^`]*`', path.read_text()))) == [], path


def _strings(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
