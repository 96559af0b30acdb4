"""The one style sheet of all pictures: which style name looks how, in SVG and in matplotlib alike.

Lengths are picture units: a picture is `VIEW_WIDTH` units wide whatever it shows, one unit is one SVG user
unit and one matplotlib point. Neighbouring styles differ in lightness, hatch or dash, never in hue alone,
so that a page printed in grey still reads; the hues come from the colour-blind-safe set of Okabe and Ito.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

VIEW_WIDTH = 800.0
PAPER = "#fdfdfb"
INK = "#1f2328"
FONT_FAMILY = "DejaVu Sans"
FONT_STACK = "'DejaVu Sans', Verdana, Arial, sans-serif"
HALO_WIDTH = 4.0
TITLE_SIZE = 16.0
AXIS_SIZE = 14.0
TICK_SIZE = 13.0

# A live picture and its stored PNG take the same width on the page: all of the cell, up to the natural size.
SVG_CSS = f"display:block;width:100%;max-width:{VIEW_WIDTH:g}px;height:auto"

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Hatch:
    """A hatch: line directions in degrees and spacing for SVG, the nearest pattern for matplotlib."""

    angles: tuple[float, ...]
    spacing: float
    mpl: str
    dots: bool = False


@dataclass(frozen=True)
class Look:
    """How a shape is drawn; `None` as a colour leaves that part out."""

    fill: str | None = None
    edge: str | None = INK
    width: float = 1.2
    dash: tuple[float, ...] = ()
    hatch: str | None = None
    hatch_colour: str = "#5b6570"
    opacity: float = 1.0
    marker: str = "o"
    size: float = 9.0


@dataclass(frozen=True)
class TextLook:
    """How a text is drawn; the halo keeps it legible on top of lines and hatches."""

    size: float
    colour: str = INK
    bold: bool = False
    halo: bool = True


# matplotlib draws 6 lines an inch for each character of a hatch; the spacings here are made to match.
HATCHES: Mapping[str, Hatch] = {
    "rising": Hatch((45.0,), 8.5, "//"),
    "falling": Hatch((-45.0,), 8.5, "\\\\"),
    "rising_close": Hatch((45.0,), 5.66, "///"),
    "crossed": Hatch((45.0, -45.0), 5.66, "xxx"),
    "level": Hatch((0.0,), 6.0, "--"),
    "upright": Hatch((90.0,), 6.0, "||"),
    "dots": Hatch((), 12.0, ".", dots=True),
}

LOOKS: Mapping[str, Look] = {
    # bodies
    "metal": Look(fill="#d3d8dd", hatch="rising"),
    "wall": Look(fill="#e6e9ec", hatch="falling", hatch_colour="#7d8791"),
    "screw": Look(fill="#95a2af", width=1.5),
    "plate": Look(fill="#c3ccd4", hatch="rising_close"),
    "bearing": Look(fill="#ffffff", width=1.6, hatch="crossed", hatch_colour="#8a949e"),
    "plastic": Look(fill="#f3e3bd", edge="#5f4a12", hatch="dots", hatch_colour="#8a6d1f"),
    "grain": Look(fill="#f6d477", edge="#5f4a12", width=0.9),
    "jammed": Look(fill="#9c3a10", edge="#3d1505", width=1.8),
    "soft": Look(fill="#f6c9a0", edge="#8a4513", hatch="level", hatch_colour="#b0652b"),
    "melt": Look(fill="#c96a2b", edge="#6b300c"),
    "hot": Look(fill="#e39a72", edge="#6b300c", hatch="crossed", hatch_colour="#8c3f14"),
    "void": Look(fill="#ffffff", edge="#7d8791", width=0.8),
    "ghost": Look(edge="#7d8791", dash=(6.0, 3.0)),
    "hatch": Look(edge=None, hatch="rising", hatch_colour="#7d8791"),
    # lines
    "outline": Look(width=1.5),
    "heavy": Look(width=2.6),
    "thin": Look(width=0.8, edge="#4a525b"),
    "hidden": Look(width=1.0, dash=(5.0, 3.0)),
    "centre": Look(width=0.9, edge="#4a525b", dash=(14.0, 3.0, 2.5, 3.0)),
    "dimension": Look(width=0.9, edge=INK),
    "dimension_head": Look(fill=INK, edge=None),
    "force": Look(width=3.2, edge="#9c2f00"),
    "force_head": Look(fill="#9c2f00", edge=None),
    "flow": Look(width=2.2, edge="#0b4f8a", dash=(7.0, 3.0)),
    "flow_head": Look(fill="#0b4f8a", edge=None),
    "motion": Look(width=1.8, edge=INK),
    "motion_head": Look(fill=INK, edge=None),
    "solid_ink": Look(fill=INK, edge=INK, width=0.8),
    "solid_paper": Look(fill=PAPER, edge=INK, width=0.8),
    "paper": Look(fill=PAPER, edge=None),
    # curves, bands and markers of graphs
    "main": Look(width=2.4, edge="#0b4f8a"),
    "second": Look(width=2.2, edge="#d55e00", dash=(8.0, 3.0)),
    "third": Look(width=2.2, edge="#007a5a", dash=(8.0, 3.0, 2.0, 3.0)),
    "fourth": Look(width=2.2, edge="#9a5583", dash=(2.0, 2.5)),
    "faint": Look(width=1.2, edge="#8a949e"),
    "limit": Look(width=1.6, edge=INK, dash=(3.0, 3.0)),
    "band": Look(fill="#9cc3e4", edge=None, opacity=0.45),
    "band_second": Look(fill="#f7cfae", edge=None, hatch="falling", hatch_colour="#c97a3a", opacity=0.6),
    "forbidden": Look(fill="#eceff1", edge=None, hatch="rising", hatch_colour="#a4adb6"),
    "here": Look(fill="#ffffff", edge=INK, width=2.0, marker="o", size=10.0),
    "point": Look(fill=INK, edge=INK, width=1.0, marker="o", size=6.0),
    "measured": Look(fill="#d55e00", edge=INK, width=0.8, marker="s", size=7.0),
    "published": Look(fill="#ffffff", edge=INK, width=1.4, marker="^", size=9.0),
}

TEXTS: Mapping[str, TextLook] = {
    "label": TextLook(14.0),
    "strong": TextLook(14.0, bold=True),
    "small": TextLook(12.5),
    "note": TextLook(12.5, colour="#4a525b"),
    "dimension": TextLook(13.5),
    "force": TextLook(14.0, colour="#7a2500", bold=True),
    "flow": TextLook(14.0, colour="#0b4f8a", bold=True),
    "title": TextLook(TITLE_SIZE, bold=True, halo=False),
}

_NARROW = frozenset(" .,:;'|!()[]/fijltrI")
_WIDE = frozenset("MWmw%@")

_Named = TypeVar("_Named")


def _pick(kind: str, table: Mapping[str, _Named], name: str) -> _Named:
    try:
        return table[name]
    except KeyError:
        near = difflib.get_close_matches(name, table, n=1)
        hint = f"Did you mean {near[0]!r}? " if near else ""
        known = ", ".join(sorted(table))
        raise ValueError(f"There is no {kind} style {name!r}. {hint}Known: {known}.") from None


def look(name: str) -> Look:
    """Look of the style `name`; ValueError that names the nearest known style."""
    return _pick("drawing", LOOKS, name)


def text_look(name: str) -> TextLook:
    """Text look of the style `name`; ValueError that names the nearest known style."""
    return _pick("text", TEXTS, name)


def text_width(text: str, style: str = "label") -> float:
    """Width of one line of text in picture units: an estimate for layout, a little on the wide side."""
    chosen = text_look(style)
    ems = sum(0.36 if sign in _NARROW else 0.98 if sign in _WIDE else 0.66 for sign in text)
    return ems * chosen.size * (1.12 if chosen.bold else 1.0)


# Everything that would otherwise come from a reader's matplotlibrc or from the notebook's inline back-end.
MPL_SETTINGS: Any = {
    "font.family": FONT_FAMILY,
    "font.size": AXIS_SIZE,
    "axes.labelsize": AXIS_SIZE,
    "axes.titlesize": AXIS_SIZE,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.titlepad": 8.0,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.facecolor": "#ffffff",
    "axes.linewidth": 1.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.unicode_minus": True,
    "grid.color": "#dde1e5",
    "grid.linewidth": 0.8,
    "xtick.labelsize": TICK_SIZE,
    "ytick.labelsize": TICK_SIZE,
    "xtick.color": INK,
    "ytick.color": INK,
    "legend.fontsize": TICK_SIZE,
    "legend.frameon": True,
    "legend.framealpha": 0.9,
    "legend.facecolor": PAPER,
    "legend.edgecolor": "#c3ccd4",
    "legend.fancybox": False,
    "figure.facecolor": PAPER,
    "figure.edgecolor": PAPER,
    "figure.dpi": 72.0,
    "savefig.facecolor": PAPER,
    "savefig.bbox": None,
    "hatch.linewidth": 0.8,
    "text.color": INK,
    "lines.scale_dashes": False,
    "svg.fonttype": "none",
    "path.simplify": True,
}


@contextmanager
def house_style() -> Iterator[None]:
    """Draw with matplotlib in the handbook's style, whatever the reader's own settings are."""
    import matplotlib as mpl  # a page shows its first drawing sooner without; so in all of this room

    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(MPL_SETTINGS)
        yield
