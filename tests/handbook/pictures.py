"""When two PNG pictures count as the same: what a processor's rounding moves passes, a moved curve does not.

Two things are compared. Where lines and areas lie is written into each picture of the handbook as numbers
(``augerbook.draw.drawn``): a change far too small for pixels shows there. And the pixels, for all else: another colour,
another word, another width of a line.
"""

import base64
import hashlib
import io

import numpy as np
import numpy.typing as npt
from augerbook.draw.still import DRAWN_KEY
from PIL import Image

# How far the sums over all corners may lie apart, in picture units. A hundredth of a percent moves a straight line low
# in a graph by 0.01, a curve by 0.2 to 2; a number whose sixth digit is rounded to the other side, by less than 0.001.
MOST_MOVED = 0.005

# A processor's rounding moves a smoothed edge by one level of 255; where that falls between two colours of the palette
# the pixel takes the other one, and neighbours in the palette are up to 36 levels apart. It comes to few pixels, seldom
# two of them close together.
MOST_PIXELS = 0.001
MOST_LEVELS = 36
SQUARE = 5
MOST_IN_SQUARE = 3.0


def disagreement(stored: str, fresh: str) -> str:
    """In what two pictures (base64 of PNG files) disagree, in words; empty if they count as the same."""
    before, after = _read(stored), _read(fresh)
    if before is None or after is None:
        return "a picture cannot be read"
    (old, old_lies), (new, new_lies) = before, after
    if old.shape != new.shape:
        return f"{old.shape[1]} x {old.shape[0]} pixels became {new.shape[1]} x {new.shape[0]}"
    return _moved(old_lies, new_lies) or _repainted(old, new)


def in_words(picture: str) -> str:
    """Size of a picture, where its lines lie, and a hash of its pixels: what a person can compare."""
    if (read := _read(picture)) is None:
        return "no picture"
    pixels, lies = read
    where = f"lines at {' '.join(f'{number:g}' for number in lies)}, " if lies else ""
    return f"{pixels.shape[1]} x {pixels.shape[0]} pixels, {where}{hashlib.sha256(pixels.tobytes()).hexdigest()[:12]}"


def _read(picture: str) -> tuple[npt.NDArray[np.int64], list[float]] | None:
    try:
        with Image.open(io.BytesIO(base64.b64decode(picture))) as image:
            lies = [float(number) for number in image.info.get(DRAWN_KEY, "").split()]
            return np.asarray(image.convert("RGBA")).astype(np.int64), lies
    except (OSError, ValueError):
        return None


def _moved(old: list[float], new: list[float]) -> str:
    if len(old) != len(new):
        return "only one of the two pictures says where its lines lie"
    if old[:1] != new[:1]:
        return f"{old[0]:g} corners of lines and areas became {new[0]:g}"
    by = max((abs(before - after) for before, after in zip(old, new, strict=True)), default=0.0)
    return f"lines or areas moved: a sum over all their corners by {by:.3g} picture units" if by > MOST_MOVED else ""


def _repainted(old: npt.NDArray[np.int64], new: npt.NDArray[np.int64]) -> str:
    apart = np.abs(old - new).max(axis=2)
    if (share := float(np.mean(apart > 0))) > MOST_PIXELS:
        return f"{100 * share:.2g} % of the pixels differ"
    if (levels := int(apart.max())) > MOST_LEVELS:
        return f"a pixel differs by {levels} levels"
    padded = np.pad(apart, SQUARE - 1)
    squares = np.lib.stride_tricks.sliding_window_view(padded, (SQUARE, SQUARE))
    if apart.any() and (mean := float(squares.mean(axis=(2, 3)).max())) > MOST_IN_SQUARE:
        return f"{SQUARE} by {SQUARE} pixels differ by {mean:.2g} levels each"
    return ""
