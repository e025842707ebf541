"""The first line that every command prints about a plate."""

from rich.text import Text

from solver.plate_folder.schema import PlateTable

_ROLES = {"top": "a top", "back": "a back", "panel": "a test panel"}


def headline(table: PlateTable, without: str = "") -> Text:
    """Return the title of the plate, what it is, what is left out of it, and which wood holds if it was fitted."""
    fit = table.fit_that_holds
    wood = "" if fit is None else f"; wood as fitted on {fit.date:%Y-%m-%d}"
    return Text.assemble((table.title, "bold"), f" - {_ROLES[table.role]}{without}{wood}")
