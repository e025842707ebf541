"""The one way through the program: nothing imports upward, and heavy libraries come in by their own doors."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SHIPPED = ("meshes", "solver")
"""The top level; what lies in it is found, never listed."""

MODULES = sorted(path for top in SHIPPED for path in (ROOT / top).glob("**/*.py"))
ORDER = (
    "solver.core",
    "meshes",
    "solver.measured",
    "solver.plate",
    "solver.plate_folder",
    "solver.modal",
    "solver.advice",
    "solver.stock",
    "solver.viewer",
    "solver.commands",
    "platewright",
    "solver.bench",
    "solver.command_line",
    "solver.cli",
)
"""The layers from below; the only thing about the tree that is written down."""

DOORS: dict[str, str | tuple[str, ...]] = {
    "gmsh": "meshes/plan_triangles.py",
    "meshio": "meshes/exchange.py",
    "skfem": "solver/modal/shell.py",
    "pyvista": "solver/viewer/scene.py",
    "matplotlib": ("solver/viewer/", "solver/api/platewright/drawing.py"),
    "reportlab": "solver/viewer/sheet/",
    "polars": "solver/commands/book_files.py",
    "soundfile": "solver/measured/recording.py",
    "av": "solver/measured/telephone_sound.py",
    "ezdxf": "meshes/edge_files/dxf.py",
    "svgelements": "meshes/edge_files/svg.py",
    "PIL": "solver/measured/photo_file.py",
}
HEAVY = {"gmsh", "meshio", "skfem", "pyvista", "matplotlib", "polars", "reportlab", "soundfile", "av"}


BOUNDED = (
    "meshes.edge_files.svg",
    "meshes.edge_files.dxf",
    "solver.measured.recording.read_recording",
    "solver.measured.photo_file.read_photo",
)
"""What reads files that may do harm: called in a bounded process, by name."""


API = ROOT / "solver" / "api"
"""Whose folders are packages of their own."""


def name_of(path: Path) -> str:
    parts = path.relative_to(API if path.is_relative_to(API) else ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name their module in full"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def needs(path: Path) -> set[str]:
    """Return the modules of ours that one needs, but for itself and the folders in which it lies."""
    name = name_of(path)
    used = set(imports(ast.parse(path.read_text()))) & NAMES
    return {one for one in used if one != name and not name.startswith(f"{one}.")}


def rank(name: str) -> int | None:
    """Return the layer of a module, ``None`` for what is not ours."""
    return next((place for place, layer in enumerate(ORDER) if within(name, layer)), None)


def within(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


def room_in(package: str, name: str) -> str:
    """Return what of a package holds a module: a folder in it, a module that lies loose in it, or its own ``__init__``."""
    inner = name.removeprefix(package).lstrip(".").partition(".")[0]
    return f"{package}.{inner}" if inner else package


def run_on_import(tree: ast.Module) -> Iterator[ast.AST]:
    """Yield the statements that run on import: not functions, not what only type checkers see."""
    waiting: list[ast.AST] = list(tree.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        yield node
        waiting += list(ast.iter_child_nodes(node))


NAMES = frozenset(name_of(path) for path in MODULES)
PACKAGES = [name_of(path) for path in MODULES if path.name == "__init__.py"]


def test_every_layer_is_there_and_everything_has_a_layer() -> None:
    found = {room_in("solver", name) if within(name, "solver") else name.partition(".")[0] for name in NAMES}
    assert found - {"solver"} == set(ORDER)


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_nothing_imports_upward(path: Path) -> None:
    here = rank(name_of(path))
    above = {used for used in needs(path) if here is None or (rank(used) or 0) > here}
    assert not above


@pytest.mark.parametrize("package", PACKAGES)
def test_rooms_go_one_way(package: str) -> None:
    """Between the folders and loose modules of a package no way leads back, as between the layers."""
    rooms: dict[str, set[str]] = {}
    for path in MODULES:
        name = name_of(path)
        if within(name, package):
            used = {room_in(package, one) for one in needs(path) if within(one, package)}
            here = room_in(package, name)
            rooms.setdefault(here, set()).update(used - {here})
    assert set(TopologicalSorter(rooms).static_order()) == set(rooms)  # a ring raises CycleError


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_come_in_by_their_doors_and_when_used(path: Path) -> None:
    tree = ast.parse(path.read_text())
    used = {name.partition(".")[0] for name in imports(tree)} & set(DOORS)
    strays = {name for name in used if not str(path.relative_to(ROOT)).startswith(DOORS[name])}
    assert not strays
    at_import = {
        name.partition(".")[0]
        for node in run_on_import(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in imports(node)
    }
    assert not at_import & HEAVY


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_files_that_may_do_harm_are_read_in_a_bounded_process_only(path: Path) -> None:
    assert not set(imports(ast.parse(path.read_text()))) & set(BOUNDED)


def test_every_reader_in_a_bounded_process_is_there() -> None:
    named = {
        node.value
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(r"[a-z_.]+:[a-z_]+", node.value)
    }
    assert len(named) == 3
    for reader in named:
        module, _, function = reader.partition(":")
        assert callable(getattr(import_module(module), function))


def test_no_module_needs_itself() -> None:
    order = TopologicalSorter({name_of(path): needs(path) for path in MODULES}).static_order()
    assert set(order) == NAMES  # a ring raises CycleError


def test_doors_exist() -> None:
    doors = [door for some in DOORS.values() for door in ((some,) if isinstance(some, str) else some)]
    assert all((ROOT / door).exists() for door in doors)


def asked_at_once() -> list[str]:
    """Return the modules that a front imports as soon as a command is given."""
    fronts = [path for path in MODULES if within(name_of(path), "solver.command_line")]
    asked = {used for path in fronts for used in needs(path) if within(used, "solver.commands")}
    return ["solver.cli", "solver.bench.serve", *sorted(asked)]


@pytest.mark.parametrize("module", asked_at_once())
def test_first_line_waits_for_no_heavy_library(module: str) -> None:
    heavy = [*DOORS, "scipy", "shapely", "numpy"]
    code = f"import sys, {module}; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_plate_folder_is_described_without_scipy() -> None:
    """Its values are read and checked before anything is computed from them, or else every first line would wait."""
    inside = ", ".join(sorted(name for name in NAMES if within(name, "solver.plate_folder")))
    code = f"import sys, {inside}; print('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
