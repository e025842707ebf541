"""``platewright pattern``: which mode a powder pattern on a photo shows, and how its lines lie beside the computed ones."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.pattern_request import LandmarkText, PatternRequest
from solver.core.errors import InputError
from solver.core.units import MM
from solver.measured.read_apart import photo_apart
from solver.plate_folder.description import read_description
from solver.viewer.page_files import picture_kind

if TYPE_CHECKING:
    from solver.advice.pattern_reading import PatternReading
    from solver.advice.plate_patterns import PlatePatterns
    from solver.measured.landmarks import Landmark
    from solver.measured.photo_file import Photo
    from solver.measured.plate_form import PlateForm
    from solver.measured.powder_photo import PlateView
    from solver.plate.plate import Plate


def run_pattern(request: PatternRequest, out: Console, busy: Console) -> None:
    """Print what the pattern shows as tables and words or as JSON, save its lines beside the photo, then draw it.

    Raises InputError if folder or photo cannot be understood, if there is no plate or pattern on the photo, or if something
    cannot be written.
    """
    if request.picture is not None:
        picture_kind(request.picture)
    description = read_description(request.folder)
    if not request.as_json:
        out.print(headline(description.table))
    path = _asked_lines_file(request)
    with busy.status("Reading the plate") as status:
        from solver.advice.plate_patterns import plate_patterns
        from solver.commands.pattern_answer import pattern_as_json, pattern_as_tables
        from solver.measured.seen_lines import write_seen_lines
        from solver.plate_folder.read import read_folder

        plate = read_folder(description).plate
        photo = photo_apart(request.photo)
        reading = pattern_reading(plate, request, photo, lambda: plate_patterns(plate), status.update)
    with busy.status("Drawing"):
        done = [*_keep(request, reading)]
    write_seen_lines(reading.match.view.lines, path)
    if request.as_json:
        print_json(pattern_as_json(reading, request, path), out)
    else:
        out.print(pattern_as_tables(reading))
    for line in (f"Seen lines in {path}", *done):
        busy.print(line, markup=False)


def pattern_reading(
    plate: "Plate",
    request: PatternRequest,
    photo: "Photo",
    solve: "Callable[[], PlatePatterns]",
    say: Callable[[str], object],
) -> "PatternReading":
    """Return what the photo asked about shows of a plate, which ``solve`` gives solved; ``say`` is told what is being done.

    Raises InputError as `run_pattern`.
    """
    from solver.advice.pattern_reading import read_against
    from solver.measured.plate_form import PlateForm

    say("Looking for the plate on the photo")
    views = _views(request, photo, PlateForm(plate.outline, plate.arch, plate.graduation))
    say("Solving")
    patterns = solve()
    index = None if request.mode is None else _index(request.mode, patterns)
    return read_against(patterns, views, request.photo.name, request.hz, index)


def lines_file(photo: Path) -> Path:
    """Return a new file beside the photo for its lines."""
    names = [f"{photo.stem}-lines.csv", *(f"{photo.stem}-lines-{n}.csv" for n in range(2, 1000))]
    return next(path for name in names if not (path := photo.with_name(name)).exists())


def _asked_lines_file(request: PatternRequest) -> Path:
    """Return where the lines go: the file asked for, which must be new, or a new one beside the photo."""
    if request.lines is not None and request.lines.exists():
        raise InputError(
            f"{request.lines}: the file is there already and is kept; expected a new name. Give another one."
        )
    return request.lines or lines_file(request.photo)


def _views(request: PatternRequest, photo: "Photo", form: "PlateForm") -> "tuple[PlateView, ...]":
    """Return the ways to lay the photographed plate flat."""
    from solver.measured.landmarks import found_by_landmarks
    from solver.measured.plate_on_photo import found_by_edge
    from solver.measured.powder_photo import read_pattern

    name = request.photo.name
    sides = (False, True) if request.seen is None else (request.seen == "inside",)
    if not request.landmarks:
        return read_pattern(photo, found_by_edge(photo, form, name), form, name, sides)
    fit = found_by_landmarks(photo, form, _landmarks(request.landmarks, form))
    return read_pattern(photo, fit, form, name, sides, look_alikes=False)


def _landmarks(texts: Sequence[LandmarkText], form: "PlateForm") -> "list[Landmark]":
    """Return the places pointed out; raises InputError for a name that this plate does not have."""
    import numpy as np

    from solver.measured.landmarks import Landmark, named_places

    names, found = named_places(form), []
    for text in texts:
        if isinstance(text.place, str):
            if text.place not in names:
                raise InputError(
                    f"--landmark: this plate has no place called {text.place}; expected {', '.join(sorted(names))}, or "
                    "X_MM,Y_MM. Name one of them."
                )
            plan = names[text.place]
        else:
            plan = np.array(text.place) * MM
        found.append(Landmark(np.array(text.pixel), plan))
    return found


def _index(name: str, patterns: "PlatePatterns") -> int:
    """Return the place of the mode asked for; raises InputError where the plate has no tone of that shape."""
    found = [named for named in patterns.modes.names if named]
    if name not in found:
        raise InputError(
            f"--mode: no tone of this plate has the shape of mode {name}; expected one that was found: "
            f"{', '.join(found) or 'none'}. See them with: platewright modes"
        )
    return patterns.modes.names.index(name)


def _keep(request: PatternRequest, reading: "PatternReading") -> Iterator[str]:
    """Draw what was asked for; yield what was done."""
    if request.picture is not None:
        from solver.viewer.pattern_picture import draw_pattern

        paths = draw_pattern(reading, request.photo.name, request.picture)
        yield f"Drawn in {', '.join(str(path) for path in paths)}"
