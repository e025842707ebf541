"""The work that is begun as soon as the bench starts: what it needs is loaded only in the process that does it."""

from solver.bench.work import Progress


def solve_for_page(progress: Progress, folder: str) -> None:
    """Hand over all that the page rests on; raises InputError as `solve_plate`."""
    from solver.bench.solving import solve_plate

    solve_plate(progress, folder)
