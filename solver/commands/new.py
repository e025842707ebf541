"""``platewright new``: a plate folder to begin with."""

from pathlib import Path

from rich.console import Console

from solver.commands.typed_path import as_typed


def run_new(folder: Path, like: str, length_mm: float | None, out: Console, busy: Console) -> None:
    """Write the folder of a usual plate, to be edited into one's own.

    Raises InputError if something is there already, no such plate is known, the length is of no such plate, or
    nothing can be written.
    """
    with busy.status("Drawing the plate"):
        from solver.stock import write_stock_plate

        write_stock_plate(folder, like, length_mm)
    out.print(
        f"A usual {like.replace('-', ' ')} is in {folder} (common practice, no instrument in particular).",
        markup=False,
    )
    out.print("Put your own outline, readings and wood into its files; see what it is and how it sounds by:")
    for command in ("check", "modes"):
        out.print(f"  platewright {command} {as_typed(folder)}", markup=False, soft_wrap=True)
