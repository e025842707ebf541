"""The log brought to one room and drawn over time, in a process of its own."""

from pathlib import Path

from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.log_answer import history_as_json
from solver.commands.log_drawn import chart_of
from solver.commands.log_history import History, brought_history
from solver.plate_folder.description import read_description
from solver.viewer.dark_page import in_the_dark
from solver.viewer.log_chart import log_figure
from solver.viewer.page_files import page_as_svg


def tell_history(progress: Progress, folder: str) -> Answer:
    """Return the object of ``platewright log --show --json``, and its drawing as SVG for day and dark, if it has one.

    Raises InputError as that command.
    """
    progress.say("Bringing the tones to one room", 0.1)
    history = brought_history(read_description(Path(folder)))
    progress.say("Drawing", 0.8)
    return {**history_as_json(history), **_pictures(history)}


def _pictures(history: History) -> dict[str, str]:
    """Return the drawing, its words as words; none of a log without a figure."""
    if not any(h.entry.mass_g is not None or h.modes or h.tones for h in history.happenings):
        return {}
    picture = page_as_svg(log_figure(chart_of(history)))
    return {"picture": picture, "picture_dark": in_the_dark(picture)}
