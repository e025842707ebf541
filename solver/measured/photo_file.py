"""Photographs from files: upright as the maker saw them, no larger than needed, and nothing else let in."""

import stat
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats, freeze
from solver.core.errors import InputError
from solver.measured.camera import usual_focal

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST = 1400
"""Longer side [pixels] to which photos are reduced: three pixels to the millimetre of a violin that fills the frame."""

SHORTEST = 240
"""Shorter side under which nothing can be read."""

MOST_PIXELS = {"JPEG": 80_000_000, "progressive JPEG": 24_000_000, "PNG": 30_000_000}
"""Of each kind of file. A plain JPEG is decoded no larger than needed; of the others the whole has to be held."""

MOST_DRAWN_OUT = 5
"""Longer over shorter side above which a picture is no photo of a plate."""

MOST_BYTES = 200_000_000
_FOCAL_35_MM, _EXIF = 0xA405, 0x8769
_DIAGONAL_35_MM = 43.27


@dataclass(frozen=True, eq=False)
class Photo:
    """Colours (h, w, 3), 0 to 1, of a photo; ``reduced`` times as many pixels had each side in the file.

    ``focal`` [pixels of this size] is what the camera wrote down, or a usual one.
    """

    colours: Floats
    reduced: float
    focal: float

    def __post_init__(self) -> None:
        freeze(self, colours=((None, None, 3), float))


def read_photo(path: Path) -> Photo:
    """Return the photo in a JPEG or PNG file, turned upright.

    Raises
    ------
    InputError
        If there is no such file, it is no such picture, damaged, or too small or too large to be worked on.
    """
    from PIL import Image, UnidentifiedImageError

    _check_file(path)
    try:
        with Image.open(path, formats=("JPEG", "PNG")) as image:
            _check_size(path, image.width, image.height, _kind(image))
            return _read(image)
    except UnidentifiedImageError:
        raise InputError(
            f"{path}: it is no JPEG or PNG picture; expected a photo of the plate. Save the photo as JPEG or PNG."
        ) from None
    except Image.DecompressionBombError:
        raise _too_large(path, "more pixels than any camera makes", "JPEG") from None
    # What a damaged file makes Pillow raise is not promised: OSError, SyntaxError, ValueError, struct.error, EOFError ...
    except (OSError, SyntaxError, ValueError, EOFError, ArithmeticError, LookupError, TypeError) as error:
        raise InputError(
            f"{path}: the picture is damaged ({_short(error)}); expected a whole JPEG or PNG photo. Copy it again."
        ) from error


def _check_file(path: Path) -> None:
    try:
        if path.is_dir():
            raise InputError(f"{path}: it is a folder; expected a photo, a JPEG or PNG file. Name the file.")
        entry = path.stat()
    except OSError as error:
        raise InputError(
            f"{path}: it cannot be opened ({error.strerror}); expected a photo, a JPEG or PNG file. Check its name."
        ) from error
    if not stat.S_ISREG(entry.st_mode):
        raise InputError(
            f"{path}: it is a device or a pipe; expected a photo, a JPEG or PNG file. Save what it gives to a file first."
        )
    if entry.st_size > MOST_BYTES:
        raise _too_large(path, f"{entry.st_size / 1e6:.0f} MB", "JPEG")


def _kind(image: "Image") -> str:
    """Return the kind of file; telephones also write several JPEGs in one, of which the first is the photo."""
    if "progressive" in image.info or "progression" in image.info:
        return "progressive JPEG"
    return "PNG" if image.format == "PNG" else "JPEG"


def _check_size(path: Path, width: int, height: int, kind: str) -> None:
    if width * height > MOST_PIXELS[kind]:
        raise _too_large(path, f"{width} x {height} pixels", kind)
    if min(width, height) < SHORTEST:
        raise InputError(
            f"{path}: the picture has {width} x {height} pixels; expected {SHORTEST} or more on the shorter side. "
            "Take a larger one."
        )
    if max(width, height) > MOST_DRAWN_OUT * min(width, height):
        raise InputError(
            f"{path}: the picture has {width} x {height} pixels; expected one at most {MOST_DRAWN_OUT} times as long as "
            "wide. Cut it to the plate."
        )


def _too_large(path: Path, size: str, kind: str) -> InputError:
    return InputError(
        f"{path}: the picture has {size}; expected at most {MOST_PIXELS[kind] // 10**6} million pixels for a {kind} and "
        f"{MOST_BYTES // 10**6} MB. Save it at half its size."
    )


def _read(image: "Image") -> Photo:
    """Decode, reduce and turn a picture."""
    from PIL import ImageOps

    longer = max(image.width, image.height)
    focal_35 = _stated_focal(image)
    image.draft("RGB", (LONGEST, LONGEST))  # a JPEG is then decoded no larger than needed
    image.load()
    factor = max(image.width, image.height) // LONGEST
    plain = _plain(image)
    small = plain.reduce(factor) if factor > 1 else plain
    small.thumbnail((LONGEST, LONGEST))
    upright = _on_white(ImageOps.exif_transpose(small))
    height, width = upright.height, upright.width
    diagonal = float(np.hypot(width, height))
    focal = focal_35 / _DIAGONAL_35_MM * diagonal if focal_35 else usual_focal(width, height)
    return Photo(np.asarray(upright, np.float64) / 255.0, longer / max(width, height), focal)


def _plain(image: "Image") -> "Image":
    """Return a picture of one or more eight-bit colours, transparency kept."""
    if image.mode.startswith("I") or image.mode == "F":  # sixteen bits to a grey
        exif = image.getexif()
        grey = image.convert("F").point(lambda value: value * (1 / 256) + 0).convert("L")
        grey.getexif().update(exif)
        return grey
    if image.mode in ("RGB", "L", "RGBA", "LA", "CMYK", "YCbCr"):
        return image
    return image.convert("RGBA" if "transparency" in image.info else "RGB")


def _on_white(image: "Image") -> "Image":
    """Return the picture in red, green and blue, what is transparent laid on white."""
    from PIL import Image

    if image.mode in ("RGBA", "LA"):
        solid = image.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", solid.size, "white"), solid).convert("RGB")
    return image.convert("RGB")


def _stated_focal(image: "Image") -> float | None:
    """Return the focal length that the camera wrote down, as if on 35 mm film, where it is one of a lens for plates."""
    stated = image.getexif().get_ifd(_EXIF).get(_FOCAL_35_MM)
    return float(stated) if isinstance(stated, int | float) and 10 <= stated <= 400 else None


def _short(error: Exception) -> str:
    """Return what went wrong, in one line that is not too long."""
    return " ".join(str(error).split())[:80] or type(error).__name__


def as_png(colours: Floats) -> bytes:
    """Return a picture of colours (h, w, 3), 0 to 1, as the content of a PNG file."""
    from PIL import Image

    out = BytesIO()
    Image.fromarray((255 * np.clip(colours, 0, 1)).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()
