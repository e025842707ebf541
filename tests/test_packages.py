"""What is installed: every package of the tree, under three names and no other."""

import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
SETUP = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
API = ROOT / "solver" / "api"


def test_the_packages_listed_are_those_of_the_tree() -> None:
    inside = {path.parent for top in ("meshes", "solver") for path in (ROOT / top).rglob("__init__.py")}
    named = {
        ".".join(folder.relative_to(API if folder.is_relative_to(API) else ROOT).parts) for folder in inside
    }
    assert sorted(named | {"solver.demonstration"}) == SETUP["packages"]
    assert {name.partition(".")[0] for name in SETUP["packages"]} == {"meshes", "platewright", "solver"}


def test_each_says_that_it_is_typed() -> None:
    for folder in (ROOT / "meshes", ROOT / "solver", API / "platewright"):
        assert (folder / "py.typed").exists()
        assert "py.typed" in SETUP["package-data"][folder.name]


def test_mypy_is_given_all_of_it() -> None:
    """Named outright: what mypy only meets in an import it passes over where PYTHONPATH leads there."""
    checked = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]["files"]
    given = {path for pattern in checked for path in ROOT.glob(pattern) if path.suffix == ".py"}
    assert given == set((API / "platewright").rglob("*.py"))
    assert {"meshes", "solver", "tests"} <= set(checked)
