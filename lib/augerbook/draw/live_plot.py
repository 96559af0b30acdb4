"""Graphs that follow a slider: matplotlib draws frame, ticks and labels once, a move replaces only the data.

    figure, (left, right) = graph(columns=2, height=320)
    frame(left, x="position (mm)", y="temperature (°C)", xlim=(0, 60), ylim=(0, 250))
    ...
    plot = LivePlot(figure, alt="Temperature along the tube ...")
    plot.curve(left, "tube", "main", label="tube")
    plot.legend(left)
    view = live_html(plot.update(curves={"tube": (z, temperature)}))
    view.value = plot.update(curves={"tube": (z, other)})
    plot

The last line stores the still picture, as PNG, with the data of the last update.
"""

from __future__ import annotations

import difflib
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from augerbook.draw.light_svg import still_parts
from augerbook.draw.still import bundle, figure_png
from augerbook.draw.style import VIEW_WIDTH, Anchor, house_style
from augerbook.draw.svg_text import open_svg, patterns, short_id

# Matplotlib comes with the first graph that is drawn: a page begins with a scene, and is there a quarter of a second
# sooner without. What needs it says so where it is used.
if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from augerbook.draw.live_slots import AxesView, Slot

Scale = Literal["linear", "log"]
LegendPlace = Literal[
    "upper right", "upper left", "upper center", "lower right", "lower left", "lower center",
    "center right", "center left",
]  # fmt: skip


def graph(
    columns: int = 1, rows: int = 1, height: float = 340.0, width_ratios: Sequence[float] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """A figure in the handbook's style, `height` picture units high, and its axes row by row."""
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    with house_style():
        figure = Figure(figsize=(VIEW_WIDTH / 72, height / 72))
        engine = ConstrainedLayoutEngine(w_pad=10 / 72, h_pad=8 / 72, wspace=0.03, hspace=0.04)
        figure.set_layout_engine(engine)
        axes = figure.subplots(rows, columns, squeeze=False, width_ratios=width_ratios)
    return figure, tuple(axes.ravel())


def frame(
    axes: Axes,
    *,
    x: str,
    y: str,
    xlim: tuple[float, float],
    ylim: tuple[float, float],
    title: str = "",
    xscale: Scale = "linear",
    yscale: Scale = "linear",
) -> None:
    """Scales, limits and words of one pair of axes; `x` and `y` name the quantity and its unit (`Quantity.axis`)."""
    with house_style():
        axes.set_xscale(xscale)
        axes.set_yscale(yscale)
        axes.set_xlim(xlim)
        axes.set_ylim(ylim)
        axes.set_xlabel(x)
        axes.set_ylabel(y)
        axes.set_title(title)


class LivePlot:
    """A matplotlib figure whose named parts move without drawing the rest again.

    Make the figure with `graph` and `frame` (anything else on it stays still; draw it within
    `style.house_style()`), then name the moving parts. `alt` says in words what the graph shows.
    """

    def __init__(self, figure: Figure, *, alt: str) -> None:
        if not alt.strip():
            raise ValueError("A graph needs an alt text: say in words what it shows.")
        self.alt = alt
        self.figure = figure
        self._prefix = short_id(alt)
        self._engine = figure.get_layout_engine()
        figure.set_dpi(72)
        for axes in figure.axes:
            axes.autoscale(False)
        self._slots: dict[str, Slot] = {}
        self._drawn: dict[str, str] = {}
        self._views: dict[Axes, AxesView] = {}
        self._pieces: list[str] = []
        self._order: list[str] = []

    # -- naming the moving parts -----------------------------------------------------------------

    def _add(self, slot: Slot) -> None:
        self._slots[slot.name] = slot
        self._pieces = []

    def _free(self, axes: Axes, name: str) -> None:
        if axes not in self.figure.axes:
            raise ValueError(f"The axes for {name!r} belong to another figure.")
        if not name.isidentifier():
            raise ValueError(f"The name of a moving part must be a plain word, not {name!r}.")
        if name in self._slots:
            raise ValueError(f"There is a {self._slots[name].kind} named {name!r} already.")

    def curve(self, axes: Axes, name: str, style: str = "main", label: str | None = None) -> None:
        """A moving line; data (x, y), NaN breaks it."""
        from augerbook.draw.live_slots import Curve

        self._free(axes, name)
        with house_style():
            self._add(Curve(axes, name, style, label))

    def band(self, axes: Axes, name: str, style: str = "band", label: str | None = None) -> None:
        """A moving area; data (x, lower, upper), each an array or one number."""
        from augerbook.draw.live_slots import Band

        self._free(axes, name)
        with house_style():
            self._add(Band(axes, name, style, label))

    def marker(self, axes: Axes, name: str, style: str = "here", label: str | None = None) -> None:
        """Moving signs; data (x, y), numbers or arrays."""
        from augerbook.draw.live_slots import Marker

        self._free(axes, name)
        with house_style():
            self._add(Marker(axes, name, style, label))

    def text(
        self,
        axes: Axes,
        name: str,
        at: tuple[float, float] | None = None,
        style: str = "label",
        anchor: Anchor = "start",
        shift: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """A changing text: at a place in fractions of the axes (data: a string), or without `at` moving
        with the data (data: (string, x, y)). `shift` moves it by picture units, right and up."""
        from augerbook.draw.live_slots import Readout

        self._free(axes, name)
        with house_style():
            self._add(Readout(axes, name, style, anchor, at, shift))

    def legend(self, axes: Axes, loc: LegendPlace = "upper right", columns: int = 1) -> None:
        """Legend of the labelled parts of `axes`; at a fixed place, since the curves move."""
        with house_style():
            axes.legend(loc=loc, ncols=columns).set_zorder(5)
        self._pieces = []

    # -- the frame, drawn once -------------------------------------------------------------------

    def _settle(self) -> None:
        """Work out the layout once and keep it, so that data and frame fit in both kinds of picture."""
        from augerbook.draw.live_slots import AxesView

        if self._engine is not None:
            self.figure.set_layout_engine(self._engine)
            self._engine.execute(self.figure)
            self.figure.set_layout_engine("none")
        for axes in self.figure.axes:
            axes.apply_aspect()
        height = self.figure.get_figheight() * 72
        self._views = {axes: AxesView(axes, height) for axes in self.figure.axes}

    def _build(self) -> None:
        import matplotlib as mpl
        from matplotlib.lines import Line2D

        with house_style(), mpl.rc_context({"svg.hashsalt": self._prefix}):
            self._settle()
            # Stand-ins keep the place of each moving part in the order of drawing.
            stand_ins = []
            for name, slot in self._slots.items():
                stand_in = Line2D([0, 1], [0, 1], transform=slot.axes.transAxes)
                stand_in.set_zorder(slot.artist.get_zorder())
                stand_in.set_gid(f"slot-{name}")
                slot.axes.add_artist(stand_in)
                slot.artist.set_visible(False)
                stand_ins.append(stand_in)
            stored = io.StringIO()
            try:
                self._write_svg(stored)
            finally:
                for stand_in, slot in zip(stand_ins, self._slots.values(), strict=True):
                    stand_in.remove()
                    slot.artist.set_visible(True)
        still, self._order = still_parts(stored.getvalue())
        if sorted(self._order) != sorted(self._slots):
            raise RuntimeError("matplotlib did not draw every moving part of the graph.")
        self._pieces = self._joints(still)
        self._drawn = {name: slot.svg(self._views[slot.axes]) for name, slot in self._slots.items()}

    def _write_svg(self, to: io.StringIO) -> None:
        """Write the figure as SVG: matplotlib's own saving would go through it twice, though its layout is settled."""
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        shown_on = self.figure.canvas
        try:
            FigureCanvasSVG(self.figure).print_svg(to, metadata={"Date": None})
        finally:
            self.figure.set_canvas(shown_on)

    def _joints(self, still: list[str]) -> list[str]:
        """The unchanging strings before, between and after the moving parts."""
        rects = "".join(
            f'<clipPath id="{self._prefix}-clip{index}"><rect x="{view.left:.2f}" y="{view.top:.2f}" '
            f'width="{view.width:.2f}" height="{view.height:.2f}"/></clipPath>'
            for index, view in enumerate(self._views.values())
        )
        styles = [slot.style for slot in self._slots.values() if slot.hatched]
        hatches = patterns(styles, self._prefix)
        pieces = [f"<defs>{rects}{hatches}</defs>{still[0]}"]
        places = list(self._views)
        for name, after in zip(self._order, still[1:], strict=True):
            slot = self._slots[name]
            clip = f' clip-path="url(#{self._prefix}-clip{places.index(slot.axes)})"' if slot.clipped else ""
            pieces[-1] += f'<g id="{self._prefix}-{name}" {slot.attributes(self._prefix)}{clip}>'
            pieces.append(f"</g>{after}")
        return pieces

    # -- moving and showing ----------------------------------------------------------------------

    def update(
        self,
        *,
        curves: Mapping[str, tuple[Any, Any]] | None = None,
        bands: Mapping[str, tuple[Any, Any, Any]] | None = None,
        markers: Mapping[str, tuple[Any, Any]] | None = None,
        texts: Mapping[str, str | tuple[str, float, float]] | None = None,
        alt: str | None = None,
    ) -> str:
        """Take new data for the parts named and return the whole picture as SVG; other parts stay."""
        given: tuple[tuple[str, Mapping[str, Any] | None], ...] = (
            ("curve", curves),
            ("band", bands),
            ("marker", markers),
            ("text", texts),
        )
        changed = []
        for kind, data in given:
            for name, value in (data or {}).items():
                changed.append(self._take(kind, name, value))
        if alt is not None:
            self.alt = alt
        if self._pieces:
            for slot in changed:
                self._drawn[slot.name] = slot.svg(self._views[slot.axes])
        return self.svg()

    def _take(self, kind: str, name: str, value: Any) -> Slot:
        slot = self._slots.get(name)
        if slot is None or slot.kind != kind:
            known = sorted(key for key, other in self._slots.items() if other.kind == kind)
            listed = ", ".join(known) or "none"
            near = difflib.get_close_matches(name, known, n=1)
            hint = f" Did you mean {near[0]!r}?" if near else ""
            raise ValueError(f"This graph has no {kind} named {name!r}.{hint} Known: {listed}.")
        slot.set(value)
        return slot

    def svg(self) -> str:
        """The picture with the data of the last update, as an SVG string."""
        if not self._pieces:
            self._build()
        height = self.figure.get_figheight() * 72
        parts = [open_svg(self.figure.get_figwidth() * 72, height, "", self.alt), self._pieces[0]]
        for name, after in zip(self._order, self._pieces[1:], strict=True):
            parts += (self._drawn[name], after)
        parts.append("</svg>")
        return "".join(parts)

    def rescale(
        self,
        axes: Axes,
        xlim: tuple[float, float] | None = None,
        ylim: tuple[float, float] | None = None,
    ) -> str:
        """New limits for one pair of axes; draws the frame again, so keep it out of a drag."""
        with house_style():
            if xlim is not None:
                axes.set_xlim(xlim)
            if ylim is not None:
                axes.set_ylim(ylim)
        self._pieces = []
        return self.svg()

    def png(self) -> bytes:
        """The picture with the data of the last update, as PNG; the same bytes every time."""
        with house_style():
            if not self._views or not self._pieces:
                self._settle()
            for slot in self._slots.values():
                slot.sync(self._views[slot.axes])
            return figure_png(self.figure)

    def _repr_png_(self) -> bytes:
        return self.png()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> Any:
        return bundle(self.png(), self.alt)
