"""Where the lines and areas of a drawn figure lie, in a few numbers that tell a moved curve from rounding.

Pixels show a curve that moved by a tenth of a pixel, or not: smoothing and palette take away what is less. These
numbers show a ten-thousandth of the picture's height, and change by next to nothing where a processor rounds the last
place of a number otherwise, as no checksum does.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

# The golden ratio's multiples, cut to their fractions, give every corner a weight unlike those near it.
_GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0


def where_drawn(figure: Figure) -> tuple[float, ...]:
    """Return how many corners the lines and areas of all axes have, and the sums of their places, plain and weighted.

    The sums are in picture units, to the third decimal: over x, over y, over weighted x, over weighted y. Weights
    from -1 to 1 differ from corner to corner, so that what moves to both sides does not balance. Frames, ticks and
    words are left out: they are the same or another picture.
    """
    drawn = [_corners(artist) for axes in figure.axes for artist in (*axes.lines, *axes.patches)]
    places = np.concatenate([np.empty((0, 2)), *drawn])
    weights = 2.0 * np.modf(np.arange(len(places)) * _GOLDEN)[0] - 1.0
    sums = (*places.sum(axis=0), *(weights @ places))
    return (float(len(places)), *(round(float(one), 3) for one in sums))


def _corners(artist: Artist) -> npt.NDArray[np.float64]:
    assert isinstance(artist, Line2D | Patch)
    path = artist.get_transform().transform_path(artist.get_path())
    corners = np.asarray(path.vertices, dtype=np.float64)
    return corners[np.isfinite(corners).all(axis=1)]
