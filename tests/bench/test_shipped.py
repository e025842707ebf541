"""The page's files come along with the program, and fetch nothing from elsewhere."""

import re
import subprocess
import sys
import tomllib
import zipfile
from importlib import resources
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
STATIC = ROOT / "solver" / "bench" / "static"
FILES = sorted(path for path in STATIC.rglob("*") if path.is_file())


def test_files_are_found_and_named_in_the_package_data() -> None:
    found = Path(str(resources.files("solver.bench") / "static" / "index.html"))
    assert found.read_text().startswith("<!doctype html>")
    packed = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]
    matched = {path for pattern in packed["solver.bench"] for path in (ROOT / "solver/bench").glob(pattern)}
    assert set(FILES) <= matched


@pytest.mark.slow
def test_a_wheel_holds_them(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(tmp_path), str(ROOT)]
    subprocess.run(command, check=True)
    (wheel,) = tmp_path.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {str(path.relative_to(ROOT)) for path in FILES} <= names
    plates = ROOT / "cases"
    files = [path for path in plates.rglob("*.*") if path.is_file()]
    assert {f"solver/demonstration/{path.relative_to(plates)}" for path in files} <= names
    tops = {name.partition("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"meshes", "platewright", "solver"}
    assert "platewright/py.typed" in names
    assert not any(name.startswith("solver/api") for name in names)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_nothing_comes_from_elsewhere_and_no_code_hides_in_the_page(path: Path) -> None:
    text = path.read_text().replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"https?://|//cdn|\beval\(|new Function|innerHTML|document\.write", text)
    if path.suffix == ".html":
        assert not re.search(r"<script>|<style|\bon[a-z]+=|style=", text)


def test_modules_name_modules_that_are_there() -> None:
    for path in (path for path in FILES if path.suffix == ".js"):
        for named in re.findall(r'from "(\.[^"]+)"', path.read_text()):
            assert (path.parent / named).is_file(), f"{path.name} imports {named}"
