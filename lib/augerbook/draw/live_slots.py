"""The moving parts of a live graph: each keeps its data and draws it as SVG and as a matplotlib artist."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, cast

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.markers import MarkerStyle
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, ScaledTranslation, Transform

from augerbook.draw.mpl_paint import halo, line_paint, marker_paint, patch_paint
from augerbook.draw.still import rounded
from augerbook.draw.style import Anchor, look, text_look
from augerbook.draw.svg_text import finite_runs, path_data, styled, text_element

Floats = npt.NDArray[np.float64]

#: Points in a run from which on those are left out that lie on the line of their neighbours.
_MANY = 40

# Beyond this a coordinate is cut off: far outside any picture, near enough to keep slopes as they are.
_FAR = 1e5


class AxesView:
    """From data to picture units (y downwards) for axes whose layout and limits are fixed."""

    def __init__(self, axes: Axes, figure_height: float) -> None:
        self._scale: Transform = cast(Transform, axes.transScale.frozen())
        self._straight = axes.get_xscale() == axes.get_yscale() == "linear"
        # both steps only stretch and shift each axis; matplotlib counts y upwards, SVG downwards
        matrix = (axes.transLimits + axes.transAxes).get_matrix()
        self._stretch = np.array([matrix[0, 0], -matrix[1, 1]])
        self._shift = np.array([matrix[0, 2], figure_height - matrix[1, 2]])
        (x0, y0), (x1, y1) = axes.bbox.min, axes.bbox.max
        self.left, self.top = float(x0), figure_height - float(y1)
        self.width, self.height = float(x1 - x0), float(y1 - y0)

    def to_view(self, points: Floats) -> Floats:
        """Data points (n, 2) in picture units; what is not finite becomes NaN."""
        scaled = points if self._straight else np.asarray(self._scale.transform(points))
        view = scaled * self._stretch + self._shift
        view[~np.isfinite(view).all(axis=1)] = np.nan
        clipped: Floats = np.clip(view, -_FAR, _FAR)
        return clipped

    def fraction(self, x: float, y: float) -> tuple[float, float]:
        """A place in fractions of the axes, from the lower left, in picture units."""
        return self.left + x * self.width, self.top + (1 - y) * self.height

    def shows(self, view: Floats) -> npt.NDArray[np.bool_]:
        """Which points (n, 2), in picture units, lie in the frame or on its edge."""
        x, y = view[:, 0] - self.left, view[:, 1] - self.top
        slack = 0.5
        inside = (x >= -slack) & (x <= self.width + slack) & (y >= -slack) & (y <= self.height + slack)
        return np.asarray(inside)


def _columns(name: str, values: tuple[Any, ...], count: int, form: str) -> Floats:
    if not isinstance(values, tuple) or len(values) != count:
        raise ValueError(f"The data of {name!r} must be {form}.")
    columns = [np.atleast_1d(np.asarray(value, dtype=float)) for value in values]
    try:
        return np.column_stack(np.broadcast_arrays(*columns))
    except ValueError:
        lengths = ", ".join(str(len(column)) for column in columns)
        raise ValueError(f"The data of {name!r} have different lengths: {lengths}.") from None


class Slot(ABC):
    """One named moving part."""

    kind: str
    clipped = True
    #: Whether its style may bring a hatch: that of a text is another kind of style.
    hatched = True

    def __init__(self, axes: Axes, name: str, style: str, artist: Artist, zorder: float) -> None:
        self.axes, self.name, self.style, self.artist = axes, name, style, artist
        artist.set_zorder(zorder)
        # what moves must not push the axes about when the layout is worked out
        artist.set_in_layout(False)
        if artist.axes is None:
            axes.add_artist(artist)

    def attributes(self, prefix: str) -> str:
        """Presentation attributes of the group around this part."""
        return styled(self.style, prefix)

    @abstractmethod
    def set(self, value: Any) -> None:
        """Take new data; ValueError that names the part and the form expected."""

    @abstractmethod
    def svg(self, view: AxesView) -> str:
        """The elements that show the data."""

    @abstractmethod
    def sync(self, view: AxesView) -> None:
        """Give the data to the matplotlib artist."""


def _thinned(points: Floats) -> Floats:
    """Leave out points of a long run that lie on the line through their neighbours, to a fraction of a picture unit.

    A move of a slider sends and lays out the whole path: what cannot be seen costs time all the same.
    """
    if len(points) < _MANY:
        return points
    path = Path(points).cleaned(simplify=True)
    assert path.codes is not None
    return np.asarray(path.vertices, dtype=np.float64)[path.codes != Path.STOP]


class Curve(Slot):
    """A line; NaN breaks it."""

    kind = "curve"

    def __init__(self, axes: Axes, name: str, style: str, label: str | None) -> None:
        line = Line2D([], [], label=label)
        line_paint(line, style)
        super().__init__(axes, name, style, line, 2.5)
        self._points: Floats = np.empty((0, 2))

    def set(self, value: Any) -> None:
        """Take a pair (x, y) of arrays or numbers."""
        self._points = _columns(self.name, value, 2, "a pair (x, y)")

    def svg(self, view: AxesView) -> str:
        """The line as SVG."""
        runs = finite_runs(view.to_view(self._points))
        return f'<path d="{"".join(path_data(_thinned(run)) for run in runs)}" fill="none"/>'

    def sync(self, view: AxesView) -> None:
        """The line in matplotlib."""
        assert isinstance(self.artist, Line2D)
        points = rounded(self._points)
        self.artist.set_data(points[:, 0], points[:, 1])


def _outlines(columns: Floats) -> list[Floats]:
    return [np.vstack([run[:, [0, 1]], run[::-1][:, [0, 2]]]) for run in finite_runs(columns)]


class Band(Slot):
    """The area between a lower and an upper line; NaN breaks it."""

    kind = "band"

    def __init__(self, axes: Axes, name: str, style: str, label: str | None) -> None:
        patch = PathPatch(Path(np.empty((0, 2))), label=label)
        patch_paint(patch, style)
        super().__init__(axes, name, style, patch, 1.2)
        self._columns: Floats = np.empty((0, 3))

    def set(self, value: Any) -> None:
        """Take a triple (x, lower, upper) of arrays or numbers."""
        self._columns = _columns(self.name, value, 3, "a triple (x, lower, upper)")

    def svg(self, view: AxesView) -> str:
        """The area as SVG."""
        data = "".join(path_data(view.to_view(outline), closed=True) for outline in _outlines(self._columns))
        return f'<path d="{data}"/>'

    def sync(self, view: AxesView) -> None:
        """The area in matplotlib."""
        assert isinstance(self.artist, PathPatch)
        outlines = _outlines(rounded(self._columns))
        parts = [Path(np.vstack([outline, outline[:1]]), closed=True) for outline in outlines]
        self.artist.set_path(Path.make_compound_path(*parts) if parts else Path(np.empty((0, 2))))


class Marker(Slot):
    """One or more signs; those outside the axes are left out, those on the edge are shown whole."""

    kind = "marker"
    clipped = False

    def __init__(self, axes: Axes, name: str, style: str, label: str | None) -> None:
        line = Line2D([], [], label=label, clip_on=False)
        marker_paint(line, style)
        super().__init__(axes, name, style, line, 3.5)
        self._points: Floats = np.empty((0, 2))
        self._shape = self._outlines(style)

    @staticmethod
    def _outlines(style: str) -> list[tuple[Floats, bool]]:
        marker = MarkerStyle(look(style).marker)
        # matplotlib flattens the curves at the size at hand, hence the detour over a hundredfold size
        detail = 100.0
        large = marker.get_path().transformed(marker.get_transform() + Affine2D().scale(detail, -detail))
        size = look(style).size / detail
        parts = [np.asarray(part) * size for part in large.to_polygons(closed_only=False)]
        return [(part, bool(np.allclose(part[0], part[-1]))) for part in parts]

    def set(self, value: Any) -> None:
        """Take a pair (x, y) of arrays or numbers."""
        self._points = _columns(self.name, value, 2, "a pair (x, y)")

    def svg(self, view: AxesView) -> str:
        """The signs as SVG."""
        places = view.to_view(self._points)
        places = places[view.shows(places)]
        data = "".join(path_data(part + place, closed) for place in places for part, closed in self._shape)
        return f'<path d="{data}"/>'

    def sync(self, view: AxesView) -> None:
        """The signs in matplotlib."""
        assert isinstance(self.artist, Line2D)
        points = rounded(self._points)
        shown = points[view.shows(view.to_view(points))]
        self.artist.set_data(shown[:, 0], shown[:, 1])


class Readout(Slot):
    """A line of text: at a fixed place in fractions of the axes, or moving with a point of the data."""

    kind = "text"
    clipped = hatched = False

    def __init__(
        self,
        axes: Axes,
        name: str,
        style: str,
        anchor: Anchor,
        at: tuple[float, float] | None,
        shift: tuple[float, float],
    ) -> None:
        chosen = text_look(style)
        figure = axes.get_figure(root=True)
        assert figure is not None
        nudge = ScaledTranslation(shift[0] / 72, shift[1] / 72, figure.dpi_scale_trans)
        artist = axes.text(
            *(at or (0.0, 0.0)),
            "",
            transform=(axes.transData if at is None else axes.transAxes) + nudge,
            ha={"start": "left", "middle": "center", "end": "right"}[anchor],
            va="baseline",
            fontsize=chosen.size,
            fontweight="bold" if chosen.bold else "normal",
            color=chosen.colour,
            path_effects=halo(chosen),
            parse_math=False,
        )
        self._at, self._shift, self._anchor, self._text = at, shift, anchor, ""
        self._point: Floats | None = None
        super().__init__(axes, name, style, artist, 4.0)

    def attributes(self, prefix: str) -> str:
        """No paint of its own: the text element carries it."""
        return 'stroke="none"'

    def set(self, value: Any) -> None:
        """Take a string, or (string, x, y) for a text that moves."""
        if self._at is not None:
            if not isinstance(value, str):
                raise ValueError(f"The text {self.name!r} has a fixed place: give a string.")
            self._text = value
            return
        if not (isinstance(value, tuple) and len(value) == 3 and isinstance(value[0], str)):
            raise ValueError(f"The text {self.name!r} moves with the data: give a triple (text, x, y).")
        self._text = value[0]
        self._point = _columns(self.name, value[1:], 2, "a triple (text, x, y)")[:1]

    def _place(self, view: AxesView) -> tuple[float, float] | None:
        if self._at is not None:
            return view.fraction(*self._at)
        if self._point is None:
            return None
        place = view.to_view(self._point)
        return (float(place[0, 0]), float(place[0, 1])) if view.shows(place)[0] else None

    def svg(self, view: AxesView) -> str:
        """The text as SVG."""
        place = self._place(view)
        if place is None or not self._text:
            return ""
        x, y = place[0] + self._shift[0], place[1] - self._shift[1]
        return text_element(x, y, self._text, self.style, self._anchor)

    def sync(self, view: AxesView) -> None:
        """The text in matplotlib."""
        assert isinstance(self.artist, Text)
        self.artist.set_text(self._text if self._place(view) is not None else "")
        if self._point is not None:
            x, y = rounded(self._point)[0].tolist()
            self.artist.set_position((x, y))
