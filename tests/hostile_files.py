"""Small files that keep a reader busy for ever or fill the memory, made here and nowhere stored."""

import io
import struct
import zlib
from collections.abc import Callable

from ezdxf.document import Drawing
from ezdxf.filemanagement import new
from ezdxf.layouts.blocklayout import BlockLayout

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
SIZED = SVG + 'width="400mm" height="300mm" viewBox="0 -150 400 300">'


def looping_wav() -> bytes:
    """77 bytes: in a list of titles one whose size, as a signed number, leads back to its own beginning."""
    form = struct.pack("<HHIIHH", 1, 1, 8000, 16000, 2, 16)
    titles = b"INFO" + b"XXXX" + struct.pack("<i", -8) + b"YYYY" + struct.pack("<I", 8)
    chunks = b"WAVEfmt " + struct.pack("<I", len(form)) + form
    chunks += b"LIST" + struct.pack("<I", len(titles)) + titles
    chunks += b"data" + struct.pack("<I", 5) + bytes(5)
    return b"RIFF" + struct.pack("<I", len(chunks)) + chunks


def cloned_svg(levels: int = 9, copies: int = 10) -> bytes:
    """Groups of copies of groups of copies: ten to the power of the levels."""
    rows = ['<g id="g0"><circle cx="180" r="100"/></g>']
    rows += [f'<g id="g{k}">' + f'<use href="#g{k - 1}"/>' * copies + "</g>" for k in range(1, levels)]
    return f"{SIZED}<defs>{''.join(rows)}</defs><use href='#g{levels - 1}'/></svg>".encode()


def starred_svg() -> bytes:
    """A style of nothing but stars."""
    return f"{SIZED}<style>{'*' * 200_000}</style><circle cx='180' r='100'/></svg>".encode()


def crowded_svg(circles: int = 100_000) -> bytes:
    """More circles than anybody draws."""
    return (SIZED + '<circle cx="180" r="100"/>' * circles + "</svg>").encode()


def entities_svg() -> bytes:
    """Circles by entities, just under what the parser of XML takes for an attack."""
    many = "<circle cx='180' r='90'/>" * 2400
    return f'<!DOCTYPE svg [<!ENTITY a "{many}">]>{SIZED}{"&a;" * 120}</svg>'.encode()


def nested_dxf(levels: int = 7, copies: int = 12) -> bytes:
    """Blocks of blocks of blocks."""
    drawing = new("R2010", units=4)
    inner: BlockLayout = drawing.blocks.new("B0")
    inner.add_circle((0, 0), 100)
    for level in range(1, levels):
        block = drawing.blocks.new(f"B{level}")
        for copy in range(copies):
            block.add_blockref(f"B{level - 1}", (copy, 0))
    drawing.modelspace().add_blockref(f"B{levels - 1}", (0, 0))
    return _saved(drawing)


def crowded_dxf(lines: int = 100_000) -> bytes:
    """More lines than anybody draws, all of them through one place."""
    head = "0\nSECTION\n2\nENTITIES\n"
    return (head + "0\nLINE\n8\n0\n10\n0\n20\n0\n11\n300\n21\n0\n" * lines + "0\nENDSEC\n0\nEOF\n").encode()


def _saved(drawing: Drawing) -> bytes:
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue().encode()


def png(width: int, height: int, rows: bytes) -> bytes:
    """A PNG that says it has so many pixels and holds what it is given, packed."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", rows), (b"IEND", b""))
    body = b"".join(
        struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in parts
    )
    return b"\x89PNG\r\n\x1a\n" + body


def bomb_png() -> bytes:
    """A photo of 4000 million pixels in a hundred kilobytes."""
    return png(65_000, 65_000, zlib.compress(bytes(100_000_000), 9))


def stuffed_png() -> bytes:
    """A photo of a usual size with titles that unpack to gigabytes."""
    plain = png(800, 600, zlib.compress(bytes(600 * 2401)))
    text = b"Title\0\0" + zlib.compress(bytes(200_000_000), 9)
    chunk = struct.pack(">I", len(text)) + b"zTXt" + text + struct.pack(">I", zlib.crc32(b"zTXt" + text))
    return plain[:33] + chunk * 30 + plain[33:]


DRAWINGS: dict[str, Callable[[], bytes]] = {
    "clones.svg": cloned_svg,
    "stars.svg": starred_svg,
    "circles.svg": crowded_svg,
    "entities.svg": entities_svg,
    "blocks.dxf": nested_dxf,
    "lines.dxf": crowded_dxf,
}
SOUNDS: dict[str, Callable[[], bytes]] = {
    "loop.wav": looping_wav,
    "titled.mp3": lambda: titled(looping_wav()),
}
PHOTOS: dict[str, Callable[[], bytes]] = {"bomb.png": bomb_png, "stuffed.png": stuffed_png}


def titled(content: bytes) -> bytes:
    """A file that begins with the title of an MP3 and goes on as something else."""
    return b"ID3\x03\x00\x00\x00\x00\x00\x0a" + bytes(10) + content
