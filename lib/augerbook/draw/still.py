"""Still pictures for the stored outputs of a notebook: small PNG files, the same bytes every time."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from augerbook.draw.palette import in_palette
from augerbook.draw.style import VIEW_WIDTH

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Floats = npt.NDArray[np.float64]

# One and a third dots a picture unit: sharp at the natural width on most screens, and still small.
_DOTS_PER_INCH = 96

#: The most that a stored picture may take, and the sizes of palette to try in turn: many thin lines need few colours.
MOST_PICTURE_BYTES = 60_000
_COLOURS = (96, 48)

#: The name under which a picture holds `drawn.where_drawn`, and how many digits a number is drawn with.
DRAWN_KEY = "Drawn"
_DIGITS = 6


def rounded(values: Floats) -> Floats:
    """Numbers of any shape to six significant digits.

    What is drawn is rounded, and only there: the last places of a result differ between processors, and a number at
    the very edge between two pixels (nice numbers lie there) would fall to either side.
    """
    flat = [float(f"{value:.{_DIGITS}g}") for value in np.asarray(values, dtype=np.float64).ravel().tolist()]
    return np.array(flat).reshape(np.shape(values))


def figure_png(figure: Figure) -> bytes:
    """The figure as PNG with a palette; without date or software name, so that equal pictures are equal."""
    from augerbook.draw.drawn import where_drawn  # brings matplotlib

    raw = io.BytesIO()
    figure.savefig(raw, format="png", dpi=_DOTS_PER_INCH, metadata={"Software": None})
    raw.seek(0)
    with Image.open(raw) as image:
        plain = image.convert("RGB")
    lies = PngInfo()
    lies.add_text(DRAWN_KEY, " ".join(f"{number:.10g}" for number in where_drawn(figure)))
    for colours in _COLOURS:
        small = io.BytesIO()
        in_palette(plain, colours).save(small, format="PNG", optimize=True, pnginfo=lies)
        if small.tell() <= MOST_PICTURE_BYTES:
            break
    return small.getvalue()


def bundle(png: bytes, alt: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """What IPython stores for a picture: the PNG at its natural width, and the alt text as plain text."""
    data = {"image/png": base64.b64encode(png).decode("ascii"), "text/plain": f"Picture: {alt}"}
    return data, {"image/png": {"width": round(VIEW_WIDTH), "alt": alt}}
