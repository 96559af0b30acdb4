"""The one palette of all still pictures: the colours of the style sheet, and as many of their blends as there is room.

A palette chosen for each picture from its own pixels would let a single pixel that differs by one grey level, as it may
on another processor, move colours all over the picture. With a fixed one each pixel depends on itself alone.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import numpy.typing as npt
from PIL import Image

from augerbook.draw.style import LOOKS, MPL_SETTINGS, PAPER, TEXTS

Colours = npt.NDArray[np.int64]

#: What an image file can hold.
MOST_COLOURS = 256
# Where lines are smoothed, and where one thing shines through another, two colours of the style sheet are blended.
_BLENDS = 8
_AT_A_TIME = 4096


def _of_the_style_sheet() -> list[str]:
    drawn = (colour for look in LOOKS.values() for colour in (look.fill, look.edge, look.hatch and look.hatch_colour))
    written = (text.colour for text in TEXTS.values())
    framed = (value for value in MPL_SETTINGS.values() if isinstance(value, str) and value.startswith("#"))
    return sorted({PAPER, *(colour for colour in (*drawn, *written, *framed) if colour)})


@cache
def palette() -> Colours:
    """Return the colours as rows of red, green and blue, 0 to 255; the first are those of the style sheet.

    Each further one is the blend of two of them that is farthest from all before it, so that the first so many are
    a palette as well, only a coarser one.
    """
    own = [tuple(bytes.fromhex(colour[1:])) for colour in _of_the_style_sheet()]
    pairs = np.array(list(combinations(own, 2)), dtype=np.int64)
    # Whole numbers throughout: the palette must be the same on every machine.
    blends = [(pairs[:, 0] * (_BLENDS - n) + pairs[:, 1] * n + _BLENDS // 2) // _BLENDS for n in range(1, _BLENDS)]
    candidates = np.unique(np.concatenate(blends), axis=0)
    chosen = np.empty((MOST_COLOURS, 3), dtype=np.int64)
    chosen[: len(own)] = own
    apart = np.min([_squared(candidates, np.array(colour)) for colour in own], axis=0)
    for place in range(len(own), MOST_COLOURS):
        chosen[place] = candidates[apart.argmax()]
        apart = np.minimum(apart, _squared(candidates, chosen[place]))
    return chosen


def _squared(colours: Colours, one: Colours) -> Colours:
    difference: Colours = ((colours - one) ** 2).sum(axis=-1)
    return difference


def in_palette(image: Image.Image, count: int = MOST_COLOURS) -> Image.Image:
    """Return an RGB image with each pixel in the nearest of the first ``count`` colours of the palette."""
    red, green, blue = np.moveaxis(np.asarray(image).astype(np.int32), -1, 0)
    packed = red << 16 | green << 8 | blue
    # Tables over all colours there are: ten times faster than sorting the pixels to find those met.
    met = np.zeros(1 << 24, dtype=np.bool_)
    met[packed] = True
    colours = np.flatnonzero(met)
    channels = np.column_stack([colours >> 16, colours >> 8 & 255, colours & 255])
    chosen = palette()[:count]
    place = np.zeros(1 << 24, dtype=np.uint8)
    for start in range(0, len(colours), _AT_A_TIME):
        some = slice(start, start + _AT_A_TIME)
        place[colours[some]] = _squared(channels[some, None], chosen).argmin(axis=1)
    indexed = Image.fromarray(place[packed], "P")
    indexed.putpalette(chosen.astype(np.uint8).tobytes())
    return indexed
