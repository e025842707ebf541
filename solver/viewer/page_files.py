"""Pages on the disk, in the format that the file's name asks for."""

from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from solver.core.atomic_write import whole_folder
from solver.core.errors import InputError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FORMATS = ("png", "pdf", "svg")
_DPI = 180
_PLAN_INCHES = (5.0, 8.0)
"""Width and height of new axes for a plan."""


def picture_kind(path: Path) -> str:
    """Return the format that a name asks for; raises InputError if it is none of png, pdf and svg."""
    kind = path.suffix.lower().removeprefix(".")
    if kind not in FORMATS:
        raise InputError(
            f"{path}: a picture of kind '{kind}'; expected a name that ends in .png, .pdf or .svg"
        )
    return kind


def save_pages(pages: Sequence["Figure"], path: Path) -> tuple[Path, ...]:
    """Write the pages, all or none, and return the files.

    A PDF holds all pages; else the second page of ``modes.png`` is ``modes-2.png`` and so on. Words
    in an SVG stay words, letters in a PDF are embedded.

    Raises
    ------
    InputError
        If the name's ending is none of png, pdf and svg, or nothing can be written there.
    """
    from matplotlib import rc_context

    kind = picture_kind(path)
    names = [path.name] if kind == "pdf" else [_page_name(path, number) for number in range(len(pages))]
    with whole_folder(path.parent) as part, rc_context({"svg.fonttype": "none", "pdf.fonttype": 42}):
        if kind == "pdf":
            _save_book(pages, part / path.name)
        else:
            for page, name in zip(pages, names, strict=True):
                page.savefig(part / name, dpi=_DPI)
    return tuple(path.parent / name for name in names)


def page_as_svg(page: "Figure") -> str:
    """Return a page as SVG text, the same for the same page; its words stay words."""
    from matplotlib import rc_context

    drawn = StringIO()
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "page"}):
        page.savefig(drawn, format="svg", metadata={"Date": None})
    return drawn.getvalue()


def _page_name(path: Path, number: int) -> str:
    return path.name if number == 0 else f"{path.stem}-{number + 1}{path.suffix}"


def _save_book(pages: Sequence["Figure"], path: Path) -> None:
    from matplotlib.backends.backend_pdf import PdfPages

    with PdfPages(path) as book:
        for page in pages:
            book.savefig(page)


def new_axes() -> "Axes":
    """Return empty axes that a notebook shows by itself."""
    from matplotlib import pyplot

    return pyplot.subplots(figsize=_PLAN_INCHES, layout="constrained")[1]
