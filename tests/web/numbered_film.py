"""A film whose every frame shows its own number, held upright as a phone films: its pixels lie, a flag turns them."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

WIDTH_PX, HEIGHT_PX = 272, 480
BITS, BIT_PX, FROM_PX, TO_PX = 7, 38, 260, 420
"""The number stands in upright stripes, the lowest bit at the left, between two heights of the upright picture."""
READ_NUMBER = """
async film => {
  if (film.seeking) await new Promise(done => film.addEventListener("seeked", done, { once: true }));
  const canvas = new OffscreenCanvas(film.videoWidth, film.videoHeight), ink = canvas.getContext("2d");
  ink.drawImage(film, 0, 0);
  const bit = place => ink.getImageData(place * BIT_PX + BIT_PX / 2, (FROM_PX + TO_PX) / 2, 1, 1).data[1] > 127;
  return Array.from({ length: BITS }, (_, place) => (bit(place) ? 2 ** place : 0)).reduce((one, other) => one + other);
}
"""
for _name in ("BIT_PX", "FROM_PX", "TO_PX", "BITS"):
    READ_NUMBER = READ_NUMBER.replace(_name, str(globals()[_name]))


def upright_picture(number: int) -> NDArray[np.uint8]:
    """One picture (height, width, 3), upright."""
    picture = np.full((HEIGHT_PX, WIDTH_PX, 3), 90, np.uint8)
    for place in range(BITS):
        picture[FROM_PX:TO_PX, place * BIT_PX : (place + 1) * BIT_PX] = 255 if number >> place & 1 else 0
    return picture


def numbered_film(path: Path, count: int, rate_hz: int, begins_s: float = 0.0) -> Path:
    """Write the film; its first frame stands at ``begins_s`` of the file's own clock."""
    with av.open(str(path), "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=rate_hz, options={"crf": "20", "g": "30"})
        stream.width, stream.height, stream.pix_fmt = HEIGHT_PX, WIDTH_PX, "yuv420p"
        stream.set_display_rotation(90)
        stream.time_base = Fraction(1, 90_000)
        for number in range(count):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(np.rot90(upright_picture(number), -1)), "bgr24")
            frame.pts, frame.time_base = round((begins_s + number / rate_hz) * 90_000), Fraction(1, 90_000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path
