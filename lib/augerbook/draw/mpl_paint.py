"""The looks of the style sheet on matplotlib's artists."""

from __future__ import annotations

from typing import Any

from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.patheffects import AbstractPathEffect, Normal, Stroke

from augerbook.draw.style import HALO_WIDTH, HATCHES, PAPER, TextLook, look


def _dashes(dash: tuple[float, ...]) -> Any:
    return (0, dash) if dash else "solid"


def patch_paint(patch: Patch, style_name: str, filled: bool = True) -> None:
    """Give a patch the look `style_name`; call inside `house_style`."""
    style = look(style_name)
    patch.set_facecolor(style.fill if filled and style.fill else "none")
    patch.set_linewidth(style.width if style.edge else 0.0)
    patch.set_edgecolor(style.edge or "none")
    patch.set_linestyle(_dashes(style.dash))
    patch.set_joinstyle("round")
    patch.set_capstyle("butt")
    patch.set_alpha(style.opacity if style.opacity < 1 else None)
    if filled and style.hatch:
        patch.set_hatch(HATCHES[style.hatch].mpl)
        patch.set_hatchcolor(style.hatch_colour)


def line_paint(line: Line2D, style_name: str) -> None:
    """Give a curve the look `style_name`; call inside `house_style`."""
    style = look(style_name)
    line.set_color(style.edge or "none")
    line.set_linewidth(style.width)
    line.set_linestyle(_dashes(style.dash))
    line.set_solid_capstyle("butt")
    line.set_dash_capstyle("butt")


def marker_paint(line: Line2D, style_name: str) -> None:
    """Make a line into bare markers with the look `style_name`."""
    style = look(style_name)
    line.set_linestyle("none")
    line.set_marker(style.marker)
    line.set_markersize(style.size)
    line.set_markerfacecolor(style.fill or "none")
    line.set_markeredgecolor(style.edge or "none")
    line.set_markeredgewidth(style.width)


def halo(style: TextLook) -> list[AbstractPathEffect]:
    """Path effects of a text: an outline in the colour of the paper."""
    return [Stroke(linewidth=HALO_WIDTH, foreground=PAPER), Normal()] if style.halo else []
