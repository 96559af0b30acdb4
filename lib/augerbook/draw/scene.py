"""Drawings to scale: a scene is described once, in lengths, and drawn as live SVG or as a still picture.

Coordinates are in the scene's own unit of length with y upwards. Line widths, text sizes and arrowheads are
in picture units (the picture is `style.VIEW_WIDTH` units wide), so that a window of 4 mm and one of 400 mm
look alike. The methods convert at once to a few kinds of plain shape in picture units; both back-ends
(`scene_svg`, `scene_mpl`) draw just these. Shapes cover what was drawn before them.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from augerbook.draw.scene_layout import (
    TITLE_STRIP,
    ArrowTextAt,
    Circles,
    Outline,
    Shape,
    Sheet,
    Text,
    TextAt,
    arrow_shapes,
    dimension_shapes,
    text_beyond,
    text_block,
)
from augerbook.draw.scene_svg import to_svg
from augerbook.draw.still import bundle
from augerbook.draw.style import VIEW_WIDTH, Anchor, look, text_look, text_width

Unit = Literal["m", "mm"]
Corner = Literal["bottom left", "bottom right", "top left", "top right"]

_MILLIMETRES: dict[str, float] = {"m": 1000.0, "mm": 1.0}
_CORNER_MARGIN = 18.0


def round_length(rough: float) -> float:
    """Return the longest of 1, 2 or 5 times a power of ten that is not longer than ``rough``, for a scale bar."""
    power = 10.0 ** math.floor(math.log10(rough))
    return max(m * power for m in (1, 2, 5) if m * power <= rough)


class Scene:
    """A drawing to scale, built up by calling its methods; the last expression of a cell shows it.

    Every method that draws returns the scene. Points are pairs or (n, 2) arrays in `unit`.

    Parameters
    ----------
    width, height : size of the window in `unit`
    unit : "mm" or "m"
    origin : lower left corner of the window, in `unit`
    alt : what the picture shows, in words, for a reader who cannot see it; required
    title : a line above the picture

    Raises
    ------
    ValueError : for an empty window, no alt text, an unknown unit or style, or coordinates that are no
        finite numbers; the message says which.
    """

    def __init__(
        self,
        *,
        width: float,
        height: float,
        alt: str,
        unit: Unit = "mm",
        origin: tuple[float, float] = (0.0, 0.0),
        title: str = "",
    ) -> None:
        if not (math.isfinite(width) and math.isfinite(height) and width > 0 and height > 0):
            raise ValueError(f"The width and height of a scene must be positive, not {width} by {height}.")
        if not alt.strip():
            raise ValueError("A scene needs an alt text: say in words what the picture shows.")
        if unit not in _MILLIMETRES:
            raise ValueError(f"The unit of a scene is 'm' or 'mm', not {unit!r}.")
        if text_width(title, "title") > VIEW_WIDTH - 24:
            raise ValueError(f"The title does not fit on one line of the picture, shorten it: {title!r}.")
        self.alt = alt
        self.title = title
        self.unit = unit
        self.window = (float(origin[0]), float(origin[1]), float(width), float(height))
        self._scale = VIEW_WIDTH / width
        self._top = TITLE_STRIP if title else 0.0
        self._stretch = np.array([self._scale, -self._scale])
        self._shift = np.array([-origin[0] * self._scale, self._top + (origin[1] + height) * self._scale])
        self._shapes: list[Shape] = []

    @property
    def view_height(self) -> float:
        """Height of the picture in picture units, the title included."""
        return self._top + self.window[3] * self._scale

    @property
    def px(self) -> float:
        """Length of one picture unit, in the scene's unit: for gaps that shall look the same at any scale."""
        return 1.0 / self._scale

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """What the back-ends draw, in order."""
        if not self.title:
            return tuple(self._shapes)
        strip = np.array([[0, 0], [VIEW_WIDTH, 0], [VIEW_WIDTH, self._top], [0, self._top]], dtype=float)
        heading = Text(12.0, 0.68 * self._top, self.title, "title", "start")
        return (*self._shapes, Outline(strip, "paper", closed=True), heading)

    @property
    def sheet(self) -> Sheet:
        """The picture as it stands now, for the back-ends."""
        return Sheet(self.shapes, self.view_height, self.title, self.alt)

    def to_view(self, points: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Points (n, 2) or one point (2,) in the scene's unit as picture units, y downwards."""
        array = np.asarray(points, dtype=float)
        if array.shape[-1:] != (2,) or array.ndim > 2:
            raise ValueError(f"Points are pairs (x, y) or an (n, 2) array, not of shape {array.shape}.")
        if np.isinf(array).any():
            raise ValueError("A point of the scene is infinite.")
        view: npt.NDArray[np.float64] = array * self._stretch + self._shift
        return view

    def _point(self, point: npt.ArrayLike) -> npt.NDArray[np.float64]:
        view = self.to_view(point)
        if view.shape != (2,) or np.isnan(view).any():
            raise ValueError(f"Expected one point (x, y) of finite numbers, not {point!r}.")
        return view

    # -- bodies and lines ------------------------------------------------------------------------

    def polygon(self, points: npt.ArrayLike, style: str) -> Scene:
        """A filled shape with the outline `points` (n, 2); a row of NaN starts a further outline."""
        look(style)
        self._shapes.append(Outline(np.atleast_2d(self.to_view(points)), style, closed=True))
        return self

    def rectangle(self, corner: tuple[float, float], width: float, height: float, style: str) -> Scene:
        """A filled rectangle with its lower left corner at `corner`."""
        x, y = corner
        return self.polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], style)

    def path(self, points: npt.ArrayLike, style: str = "outline") -> Scene:
        """An open line through `points` (n, 2); a row of NaN lifts the pen."""
        look(style)
        self._shapes.append(Outline(np.atleast_2d(self.to_view(points)), style, closed=False))
        return self

    def line(self, p: npt.ArrayLike, q: npt.ArrayLike, style: str = "outline") -> Scene:
        """A straight line from p to q."""
        look(style)
        self._shapes.append(Outline(np.array([self._point(p), self._point(q)]), style, closed=False))
        return self

    def circle(self, centre: npt.ArrayLike, radius: float, style: str) -> Scene:
        """One circle."""
        return self.circles(np.atleast_2d(np.asarray(centre, dtype=float)), radius, style)

    def circles(self, centres: npt.ArrayLike, radii: npt.ArrayLike, style: str) -> Scene:
        """Many circles, such as grains: centres (n, 2), radii (n,) or one radius for all."""
        look(style)
        view = np.atleast_2d(self.to_view(centres)) if np.size(centres) else np.empty((0, 2))
        lengths = np.broadcast_to(np.asarray(radii, dtype=float), (len(view),)) * self._scale
        if np.isnan(view).any() or not np.isfinite(lengths).all() or (lengths < 0).any():
            raise ValueError("Circles need finite centres and radii that are not negative.")
        if len(view):
            self._shapes.append(Circles(view, lengths, style))
        return self

    def ring(self, centre: npt.ArrayLike, inner: float, outer: float, style: str) -> Scene:
        """The area between two circles about `centre`, such as the section of a tube."""
        turn = np.linspace(0.0, 2 * np.pi, 145)[:-1]
        unit = np.column_stack([np.cos(turn), np.sin(turn)])
        middle = np.asarray(centre, dtype=float)
        gap = np.full((1, 2), np.nan)
        # the inner circle runs the other way round: that is what makes it a hole in both back-ends
        return self.polygon(np.vstack([middle + outer * unit, gap, middle + inner * unit[::-1]]), style)

    # -- words and signs -------------------------------------------------------------------------

    def label(self, p: npt.ArrayLike, text: str, anchor: Anchor = "middle", style: str = "label") -> Scene:
        """Text at p, centred in height; `\\n` starts a new line."""
        x, y = self._point(p)
        self._shapes += text_block(x, y, text, style, anchor)
        return self

    def leader(self, p: npt.ArrayLike, at: npt.ArrayLike, text: str, style: str = "label") -> Scene:
        """Text at `at` with a thin line from it to a dot at p, on the thing that the text names."""
        dot, end = self._point(p), self._point(at)
        text_look(style)
        self._shapes.append(Outline(np.array([dot, end]), "thin", closed=False))
        self._shapes.append(Circles(dot[None, :], np.array([2.4]), "solid_ink"))
        reach = end - dot
        length = max(float(np.hypot(*reach)), 1e-9)
        self._shapes += text_beyond(end, reach / length, text, style)
        return self

    def dimension(
        self,
        p: npt.ArrayLike,
        q: npt.ArrayLike,
        text: str | None = None,
        offset: float = 0.0,
        text_at: TextAt = "auto",
    ) -> Scene:
        """A dimension line from p to q; without `text` it shows the length in mm to three digits.

        `offset` (in the scene's unit) shifts the line to the left of the way from p to q, negative to the
        right. Text that does not fit on the line goes beyond q; `text_at` puts it beyond "p" or "q", or at
        the "left" or "right" of the middle.
        """
        start, end = self._point(p), self._point(q)
        if text is None:
            text = f"{float(np.hypot(*(end - start))) * self.px * _MILLIMETRES[self.unit]:.3g} mm"
        self._shapes += dimension_shapes(start, end, text, offset * self._scale, text_at)
        return self

    def arrow(
        self,
        p: npt.ArrayLike,
        q: npt.ArrayLike,
        style: str = "force",
        text: str = "",
        text_at: ArrowTextAt = "tail",
    ) -> Scene:
        """An arrow from p to q: a "force", "flow" or "motion"."""
        return self.arrow_along(np.array([p, q], dtype=float), style, text, text_at)

    def arrow_along(
        self, points: npt.ArrayLike, style: str = "flow", text: str = "", text_at: ArrowTextAt = "tail"
    ) -> Scene:
        """An arrow along the path `points` (n, 2), such as an arc that shows a sense of rotation."""
        look(style)
        view = self.to_view(points)
        if view.ndim != 2 or len(view) < 2 or np.isnan(view).any():
            raise ValueError("An arrow needs at least two points of finite numbers.")
        self._shapes += arrow_shapes(view, style, text, text_at)
        return self

    def scale_bar(self, length: float, corner: Corner = "bottom right") -> Scene:
        """A bar of the given length, in the scene's unit, in a corner of the window; labelled in mm."""
        text = f"{length * _MILLIMETRES[self.unit]:g} mm"
        long = length * self._scale
        room = max(long, text_width(text, "small"))
        left = _CORNER_MARGIN + (room - long) / 2
        if corner.endswith("right"):
            left = VIEW_WIDTH - _CORNER_MARGIN - (room + long) / 2
        y = self.view_height - 16.0 if corner.startswith("bottom") else self._top + 32.0
        bar = [(left, y - 5), (left + long, y - 5), (left + long, y), (left, y)]
        half = [(left, y - 5), (left + long / 2, y - 5), (left + long / 2, y), (left, y)]
        self._shapes.append(Outline(np.array(bar), "solid_paper", closed=True))
        self._shapes.append(Outline(np.array(half), "solid_ink", closed=True))
        self._shapes.append(Text(left + long / 2, y - 10.0, text, "small", "middle"))
        return self

    # -- showing ---------------------------------------------------------------------------------

    def svg(self) -> str:
        """The picture as an SVG string, for a live view."""
        return to_svg(self.sheet)

    def png(self) -> bytes:
        """The picture as PNG, for the stored output of a notebook; the same bytes every time."""
        from augerbook.draw.scene_mpl import to_png  # brings matplotlib

        return to_png(self.sheet)

    def _repr_png_(self) -> bytes:
        return self.png()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> Any:
        return bundle(self.png(), self.alt)
