"""Two figures of the book as they are drawn against each other."""

from solver.commands.book_answer import BookAnswer
from solver.commands.book_rows import unit_of
from solver.commands.book_trend import said_of_trend
from solver.viewer.book_scatter import Dot, Scatter


def scatter_of(answer: BookAnswer) -> Scatter:
    """Return what is drawn of an answer that has two figures against each other."""
    assert answer.trend is not None, "drawn only where two figures were asked for"
    x, y = answer.trend.across, answer.trend.up
    dots = []
    for row in answer.rows:
        if x in row.figures and y in row.figures:
            across, up = row.figures[x], row.figures[y]
            dots.append(
                Dot(
                    row.name,
                    row.role,
                    row.size,
                    (across.low, across.value, across.high),
                    (up.low, up.value, up.high),
                )
            )
    return Scatter(
        title=f"{y} against {x}",
        across=f"{x}  [{unit_of(x)}]",
        up=f"{y}  [{unit_of(y)}]",
        dots=tuple(dots),
        trend=answer.trend.trend,
        said=tuple(said_of_trend(answer.trend)),
    )
