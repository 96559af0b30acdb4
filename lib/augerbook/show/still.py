"""Still pictures for the stored outputs of a notebook: small PNG files, the same bytes every time."""

from __future__ import annotations

import base64
import io
from typing import Any

from matplotlib.figure import Figure
from PIL import Image

from augerbook.show.style import VIEW_WIDTH

# One and a half dots a picture unit: sharp at the natural width on most screens, and still small.
_DOTS_PER_INCH = 108

#: The most that a stored picture may take, and the palettes to try in turn: a picture of many lines needs few colours.
MOST_PICTURE_BYTES = 60_000
_COLOURS = (256, 32, 8)


def figure_png(figure: Figure) -> bytes:
    """The figure as PNG with a palette; without date or software name, so that equal pictures are equal."""
    raw = io.BytesIO()
    figure.savefig(raw, format="png", dpi=_DOTS_PER_INCH, metadata={"Software": None})
    raw.seek(0)
    with Image.open(raw) as image:
        plain = image.convert("RGB")
    for colours in _COLOURS:
        # a third of the size, and no colour moves by more than the eye can tell
        flat = plain.quantize(colours, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
        small = io.BytesIO()
        flat.save(small, format="PNG", optimize=True)
        if small.tell() <= MOST_PICTURE_BYTES:
            break
    return small.getvalue()


def bundle(png: bytes, alt: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """What IPython stores for a picture: the PNG at its natural width, and the alt text as plain text."""
    data = {"image/png": base64.b64encode(png).decode("ascii"), "text/plain": f"Picture: {alt}"}
    return data, {"image/png": {"width": round(VIEW_WIDTH), "alt": alt}}
