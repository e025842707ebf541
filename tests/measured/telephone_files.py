"""M4A files as a telephone writes them."""

from pathlib import Path
from typing import cast

import av
import numpy as np
from av.audio.stream import AudioStream

from solver.core.arrays import Floats

BITS_PER_S = 96_000


def write_m4a(path: Path, sound: Floats, rate: int, codec: str = "aac") -> None:
    """Write one channel ``sound`` (n,), full scale 1, with a codec of M4A: aac or alac."""
    with av.open(str(path), "w", format="ipod") as file:
        stream = cast("AudioStream", file.add_stream(codec, rate=rate, layout="mono"))
        if codec == "aac":
            stream.bit_rate = BITS_PER_S
        frame = av.AudioFrame.from_ndarray(sound.astype(np.float32)[None], format="fltp", layout="mono")
        frame.sample_rate = rate
        kind = stream.codec_context
        fitting = av.AudioResampler(kind.format, "mono", rate, kind.frame_size or 4096)
        for part in (*fitting.resample(frame), *fitting.resample(None)):
            file.mux(stream.encode(part))
        file.mux(stream.encode(None))
