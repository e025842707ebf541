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
MODULES = sorted([*ROOT.glob("meshes/**/*.py"), *ROOT.glob("solver/**/*.py")])
ORDER = (
    (
        "solver.errors",
        "solver.arrays",
        "solver.units",
        "solver.atomic_write",
        "solver.bounded_child",
        "solver.bounded_reading",
    ),
    ("meshes",),
    ("solver.measured",),
    ("solver.plate",),
    ("solver.modal",),
    ("solver.advice",),
    ("solver.plate_folder",),
    ("solver.stock",),
    ("solver.viewer",),
    ("solver.commands",),
    ("solver.bench",),
    ("solver.command_line",),
    ("solver.cli",),
)
DOORS = {
    "gmsh": "meshes/plan_triangles.py",
    "meshio": "meshes/exchange.py",
    "skfem": "solver/modal/shell.py",
    "pyvista": "solver/viewer/scene.py",
    "matplotlib": "solver/viewer/",
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


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name their module in full"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def rank(name: str) -> int | None:
    """Return the place of a module in the order, ``None`` for what is not ours."""
    for place, group in enumerate(ORDER):
        if any(name == start or name.startswith(f"{start}.") for start in group):
            return place
    return None


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


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_nothing_imports_upward(path: Path) -> None:
    name = name_of(path)
    here = rank(name)
    if name in ("solver", "meshes") and here is None:
        here = -1  # the packages themselves hold nothing
    assert here is not None, f"{name} has no place in the order"
    above = {
        used
        for used in imports(ast.parse(path.read_text()))
        if (place := rank(used)) is not None and place > here
    }
    assert not above


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
    names = {name_of(path) for path in MODULES}
    needs = {
        name_of(path): {used for used in imports(ast.parse(path.read_text())) if used in names}
        - {name_of(path)}
        for path in MODULES
    }
    assert len(list(TopologicalSorter(needs).static_order())) == len(names)  # a ring raises CycleError


def test_doors_exist() -> None:
    assert all((ROOT / door).exists() for door in DOORS.values())


@pytest.mark.parametrize(
    "module",
    [
        "solver.cli",
        "solver.commands.check",
        "solver.commands.modes",
        "solver.commands.bar",
        "solver.commands.blank",
        "solver.commands.climate",
        "solver.commands.pair",
        "solver.commands.fit",
        "solver.commands.log",
        "solver.commands.book",
        "solver.commands.pattern",
        "solver.commands.tap",
        "solver.commands.where",
        "solver.commands.shave",
        "solver.bench.serve",
    ],
)
def test_first_line_waits_for_no_heavy_library(module: str) -> None:
    heavy = [*DOORS, "scipy", "shapely", "numpy"]
    code = f"import sys, {module}; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
