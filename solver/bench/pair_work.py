"""A top and a back held side by side in a process of its own."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

from solver.bench.page_words import in_page_words
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.pair import pair_answer
from solver.commands.pair_answer import pair_as_json, said_of_pair
from solver.plate.climate import Climate
from solver.plate_folder.description import read_description
from solver.viewer.dark_page import in_the_dark
from solver.viewer.page_files import page_as_svg
from solver.viewer.pair_picture import pair_figure

if TYPE_CHECKING:
    from solver.advice.plate_pair import Relation


def pair_order(top: Path, back: Path, relations: "tuple[Relation, ...]", to: Climate | None) -> str:
    """Return what is to be compared as it is handed to the process."""
    wanted = [[relation.mode, relation.low, relation.high] for relation in relations]
    room = None if to is None else [to.temperature_c, to.humidity_pct]
    return json.dumps({"top": str(top), "back": str(back), "relations": wanted, "to": room})


def hold_side_by_side(progress: Progress, order_text: str) -> Answer:
    """Return the object of ``platewright pair --json`` with its words, and its picture as SVG for day and dark.

    Raises InputError as that command.
    """
    from solver.advice.plate_pair import Relation

    order = json.loads(order_text)
    said = iter((0.05, 0.3, 0.55, 0.75))
    top, back = (read_description(Path(order[side])) for side in ("top", "back"))
    to = None if order["to"] is None else Climate(*order["to"])
    relations = tuple(Relation(*wanted) for wanted in order["relations"])
    answer = pair_answer(top, back, relations, to, lambda words: progress.say(words, next(said)))
    progress.say("Drawing", 0.95)
    picture = page_as_svg(pair_figure(answer.pair))
    return {
        **pair_as_json(answer),
        "words": [in_page_words(words) for words in said_of_pair(answer)],
        "picture": picture,
        "picture_dark": in_the_dark(picture),
    }
