"""What a command prints, for the tests that use it as a maker does: the answer, or the sentence of a refusal."""

from pathlib import Path

import pytest

from solver.cli import main


def answer_of(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run a command that must succeed and return what it printed."""
    code = main([str(argument) for argument in arguments])
    printed = capsys.readouterr()
    assert code == 0, printed.err
    return printed.out


def refusal_of(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run a command that must refuse, in one sentence, and return the sentence."""
    code = main([str(argument) for argument in arguments])
    said = capsys.readouterr().err
    assert code == 2
    assert said.count("\n") == 1
    return said
