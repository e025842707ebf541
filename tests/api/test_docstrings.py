"""Every public name is explained, and every example in a docstring does what it says."""

import doctest
import importlib
import pkgutil
from pathlib import Path

import matplotlib
import pytest

import platewright

MODULES = [f"platewright.{module.name}" for module in pkgutil.iter_modules(platewright.__path__)]


@pytest.mark.parametrize("name", ["platewright", *MODULES])
def test_examples_do_what_they_say(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    matplotlib.use("agg")
    monkeypatch.chdir(tmp_path)
    outcome = doctest.testmod(importlib.import_module(name), raise_on_error=False)
    assert outcome.failed == 0


def test_every_function_has_an_example_or_needs_a_file() -> None:
    explained = {
        name for name in platewright.__all__ if (getattr(platewright, name).__doc__ or "").count(">>>") > 0
    }
    functions = {name for name in platewright.__all__ if name[0].islower()}
    assert functions - explained == {"fit_wood", "hear", "read_powder"}  # see test_api for these


def test_names_are_offered_in_order() -> None:
    assert platewright.__all__ == sorted(platewright.__all__)
