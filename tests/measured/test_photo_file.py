"""Photos from files: upright and small enough, and hostile files refused in one sentence within bounded memory."""

import io
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from solver.core.errors import InputError
from solver.measured.photo_file import LONGEST, MOST_PIXELS, read_photo

MOST_MEMORY_MB = 500
ORIENTATION, EXIF, FOCAL_35_MM = 0x0112, 0x8769, 0xA405


def refusal(path: Path) -> str:
    """Read a photo that must be refused in one line, and return the sentence."""
    with pytest.raises(InputError) as refused:
        read_photo(path)
    said = str(refused.value)
    assert "\n" not in said
    return said


def picture(width: int = 640, height: int = 480) -> Image.Image:
    """A picture that is red at the top left and blue elsewhere."""
    pixels = np.zeros((height, width, 3), np.uint8)
    pixels[..., 2] = 200
    pixels[: height // 3, : width // 3] = (220, 20, 20)
    return Image.fromarray(pixels)


def bomb(path: Path, side: int) -> Path:
    """A PNG that says it is ``side`` pixels wide and high and holds next to nothing."""
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(1000))), (b"IEND", b""))
    body = b"".join(
        struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in chunks
    )
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + body)
    return path


@pytest.mark.parametrize("turned", range(1, 9))
def test_photos_are_turned_upright_as_the_camera_says(turned: int, tmp_path: Path) -> None:
    undo = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    stored = picture().transpose(undo[turned]) if turned in undo else picture()
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    stored.save(tmp_path / "photo.jpg", exif=exif, quality=95)
    colours = read_photo(tmp_path / "photo.jpg").colours
    assert colours.shape == (480, 640, 3)
    assert colours[20, 20, 0] > 0.7
    assert colours[20, 620, 0] < 0.2
    assert colours[460, 20, 0] < 0.2


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "I;16", "1", "CMYK"])
def test_every_kind_of_picture_shows_the_same(mode: str, tmp_path: Path) -> None:
    grey = Image.fromarray(np.linspace(0, 255, 480).astype(np.uint8)[:, None].repeat(640, axis=1))
    path = tmp_path / ("photo.jpg" if mode == "CMYK" else "photo.png")
    if mode == "I;16":
        Image.fromarray(np.asarray(grey).astype(np.uint16) * 257).save(path)
    else:
        grey.convert("RGB").convert(mode).save(path)
    colours = read_photo(path).colours
    assert colours[:40].mean() < 0.15
    assert colours[-40:].mean() > 0.85


def test_large_photos_are_reduced_and_the_factor_is_kept(tmp_path: Path) -> None:
    picture(4000, 3000).save(tmp_path / "photo.jpg")
    photo = read_photo(tmp_path / "photo.jpg")
    assert max(photo.colours.shape) == LONGEST
    assert photo.reduced == pytest.approx(4000 / LONGEST)


def test_the_focal_length_is_that_of_the_camera(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(EXIF)[FOCAL_35_MM] = 50
    picture().save(tmp_path / "photo.jpg", exif=exif)
    assert read_photo(tmp_path / "photo.jpg").focal == pytest.approx(50 / 43.27 * 800, rel=1e-3)


def test_what_is_no_picture_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    assert "it cannot be opened" in refusal(path)
    assert "it is a folder" in refusal(tmp_path)
    path.write_bytes(b"")
    assert "no JPEG or PNG picture" in refusal(path)
    path.write_bytes(np.random.default_rng(1).bytes(100_000))
    assert "no JPEG or PNG picture" in refusal(path)
    picture().save(path, format="GIF")
    assert "no JPEG or PNG picture" in refusal(path)
    picture(200, 150).save(path)
    assert "expected 240 or more" in refusal(path)
    picture(1, 1).save(path)
    assert "the picture has 1 x 1 pixels" in refusal(path)
    picture(3000, 250).save(path)
    assert "at most 5 times as long as wide" in refusal(path)


def test_the_content_tells_the_kind_of_picture_not_its_name(tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    picture().save(path, format="PNG")
    assert read_photo(path).colours.shape == (480, 640, 3)
    picture().save(path, format="MPO", save_all=True, append_images=[picture(160, 120)])
    assert read_photo(path).colours.shape == (480, 640, 3)  # telephones add a second one for depth
    picture().save(path, format="TIFF")
    assert "no JPEG or PNG picture" in refusal(path)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_truncated_and_damaged_pictures_are_read_or_refused(kind: str, tmp_path: Path) -> None:
    whole, path = io.BytesIO(), tmp_path / "photo"
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    picture().save(whole, format=kind, exif=exif)
    data, random = whole.getvalue(), np.random.default_rng(2)
    for share in (0.02, 0.1, 0.5, 0.9, 0.99):
        path.write_bytes(data[: int(share * len(data))])
        assert path.name in refusal(path)
    refused = 0
    for _ in range(60):
        broken = bytearray(data)
        for place in random.integers(0, len(data), 6):
            broken[place] = int(random.integers(256))
        path.write_bytes(broken)
        try:
            assert read_photo(path).colours.max() <= 1.0  # a spot of another colour does no harm
        except InputError as error:
            refused += "\n" not in str(error)
    assert refused > 0


def test_decompression_bombs_are_refused_by_their_size_alone(tmp_path: Path) -> None:
    side = int(MOST_PIXELS["PNG"] ** 0.5) + 1
    assert "expected at most 30 million pixels for a PNG" in refusal(bomb(tmp_path / "a.png", side))
    assert "million pixels" in refusal(bomb(tmp_path / "b.png", 60_000))
    assert "damaged" in refusal(bomb(tmp_path / "c.png", 3000))  # of good size, but nearly all of it missing


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is measured as Linux counts it")
@pytest.mark.parametrize(
    ("name", "mode", "kind"),
    [
        ("a.png", "RGBA", "PNG"),
        ("b.png", "P", "PNG"),
        ("c.jpg", "RGB", "progressive JPEG"),
        ("d.jpg", "RGB", "JPEG"),
    ],
)
def test_the_largest_photo_takes_bounded_memory(name: str, mode: str, kind: str, tmp_path: Path) -> None:
    side = int(MOST_PIXELS[kind] ** 0.5)
    noise = Image.effect_noise((side, side), 60).convert(mode)
    noise.save(tmp_path / name, progressive=kind.startswith("progressive"), subsampling=0, compress_level=1)
    code = (
        "from pathlib import Path; from solver.measured.photo_file import read_photo; "
        f"read_photo(Path({str(tmp_path / name)!r})); "
        "print([line for line in Path('/proc/self/status').read_text().splitlines() if 'VmHWM' in line][0].split()[1])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    print(name, float(done.stdout) / 1024, "MB at the most")
    assert float(done.stdout) / 1024 < MOST_MEMORY_MB
