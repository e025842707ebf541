"""What the program answers when a maker asks it: run in this process, its words, its JSON, and the plan behind them."""

import contextlib
import io
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from rich.console import Console

from solver.advice.carving_plan import CarvingPlan
from solver.advice.plan_trials import PlanBench
from solver.cli import main


@dataclass(frozen=True)
class Answer:
    """The exit code, what was printed, and the sentence of a refusal."""

    code: int
    printed: str
    refusal: str

    @property
    def table(self) -> Any:
        """The object that ``--json`` printed."""
        return json.loads(self.printed)


def ask(*arguments: str | Path) -> Answer:
    """Run a command as a maker would and return what it answers."""
    out, err = io.StringIO(), io.StringIO()
    with _wide(), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([str(argument) for argument in arguments])
    return Answer(code, out.getvalue(), err.getvalue().strip() if code else "")


@contextlib.contextmanager
def _wide() -> Iterator[None]:
    """No sentence is broken over lines."""
    with patch.dict(os.environ, {"COLUMNS": "4000"}):
        yield


@dataclass(frozen=True)
class PlanAnswer:
    """A plan as its maker reads it: ``words`` under the table, ``table`` as JSON; ``plan`` and ``bench`` to carve by.

    The last two are what the sheet is drawn from. None of them where it was refused.
    """

    answer: Answer
    words: str
    plan: CarvingPlan | None
    bench: PlanBench | None


def ask_plan(folder: Path) -> PlanAnswer:
    """Ask for the plan to the wishes in plate.toml; words and JSON are of the one plan that was made."""
    import solver.commands.plan as command
    import solver.commands.plan_answer as answers

    made: list[tuple[PlanBench, CarvingPlan]] = []
    words = io.StringIO()
    plan_for, as_json, as_table = command.plan_for, answers.plan_as_json, answers.plan_as_table

    def kept_plan(*arguments: Any) -> Any:
        made.append(plan_for(*arguments))
        return made[-1]

    def said_both(*arguments: Any) -> Any:
        Console(file=words, width=4000).print(as_table(*arguments))
        return as_json(*arguments)

    with patch.object(command, "plan_for", kept_plan), patch.object(answers, "plan_as_json", said_both):
        answer = ask("plan", folder, "--json")
    bench, plan = made[-1] if made else (None, None)
    return PlanAnswer(answer, words.getvalue(), plan, bench)
