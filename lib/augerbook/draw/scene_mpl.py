"""Matplotlib back-end of a scene: the still picture that a notebook stores."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Patch, PathPatch
from matplotlib.path import Path

from augerbook.draw.mpl_paint import halo, patch_paint
from augerbook.draw.scene_layout import Outline, Sheet, Text
from augerbook.draw.still import figure_png, rounded
from augerbook.draw.style import VIEW_WIDTH, house_style, text_look
from augerbook.draw.svg_text import finite_runs


def _compound(points: npt.NDArray[np.float64], closed: bool) -> Path:
    parts = []
    for run in finite_runs(rounded(points)):
        if closed:
            run = np.vstack([run, run[:1]])
        codes = np.full(len(run), Path.LINETO, dtype=Path.code_type)
        codes[0] = Path.MOVETO
        if closed:
            codes[-1] = Path.CLOSEPOLY
        parts.append(Path(run, codes))
    return Path.make_compound_path(*parts)


def _draw_text(axes: Axes, shape: Text) -> None:
    style = text_look(shape.style)
    axes.text(
        shape.x,
        shape.y,
        shape.text,
        ha={"start": "left", "middle": "center", "end": "right"}[shape.anchor],
        va="baseline",
        fontsize=style.size,
        fontweight="bold" if style.bold else "normal",
        color=style.colour,
        path_effects=halo(style),
        parse_math=False,
        zorder=2,
    )


def to_figure(sheet: Sheet) -> Figure:
    """The picture as a matplotlib figure in which one point is one picture unit."""
    height = sheet.height
    with house_style():
        figure = Figure(figsize=(VIEW_WIDTH / 72, height / 72))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0.0, VIEW_WIDTH)
        axes.set_ylim(height, 0.0)
        for shape in sheet.shapes:
            # equal zorder keeps the order of drawing
            if isinstance(shape, Text):
                _draw_text(axes, shape)
            elif isinstance(shape, Outline):
                patch: Patch = PathPatch(_compound(shape.points, shape.closed), zorder=2)
                patch_paint(patch, shape.style, filled=shape.closed)
                axes.add_artist(patch)
            else:
                for (x, y), radius in zip(rounded(shape.centres), rounded(shape.radii), strict=True):
                    patch = Circle((float(x), float(y)), float(radius), zorder=2)
                    patch_paint(patch, shape.style)
                    axes.add_artist(patch)
    return figure


def to_png(sheet: Sheet) -> bytes:
    """The picture as PNG."""
    figure = to_figure(sheet)
    with house_style():
        return figure_png(figure)
