"""What a study of candidates looks like: chances as bars, aims against each other, two builds draw by draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from augerbook.draw.live_plot import LegendPlace, LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.choosing import holding_share

Array = NDArray[np.float64]

#: Bars of chances, in picture units: where their scale begins and ends, and how far they are apart.
_LEFT, _RIGHT, _ROW, _FLOOR = 330.0, 640.0, 38.0, 52.0
#: Where the scale of sets of draws begins and ends, in picture units.
_SETS_LEFT, _SETS_RIGHT = 150.0, 750.0
#: Letters of a name that fit before its bar.
_LETTERS = 38
#: More names than this beside their points cannot be read.
_MOST_NAMED = 12


@dataclass(frozen=True)
class Point:
    """A candidate in the plane of two aims.

    Attributes:
        name: what stands beside it.
        x, y: its aims, in the units shown on the axes.
        kind: "front" where no other beats it, "beaten", or "unlikely" where it seldom holds its margins.
        at_hand: whether it is the build at hand.
    """

    name: str
    x: float
    y: float
    kind: str
    at_hand: bool = False


#: In the order of drawing: what counts most lies on top.
_SIGNS = {
    "unlikely": ("published", "seldom holds"),
    "beaten": ("point", "beaten"),
    "front": ("measured", "beaten by none"),
}


def draw_front(points: Sequence[Point], x: str, y: str, title: str = "less of both is better") -> LivePlot:
    """Draw candidates in the plane of two aims, both the less the better; ``x`` and ``y`` are words for the axes.

    Raises:
        ValueError: no candidate has both aims.
    """
    known = [point for point in points if np.isfinite(point.x) and np.isfinite(point.y)]
    if not known:
        raise ValueError("no candidate has a value for both aims, so that there is nothing to draw")
    figure, (axes,) = graph(height=380)
    xs, ys = np.array([point.x for point in known]), np.array([point.y for point in known])
    frame(axes, x=x, y=y, xlim=_around(xs), ylim=_around(ys), title=title)
    best = sorted((p for p in known if p.kind == "front"), key=lambda p: (p.x, p.y))
    listed = "; ".join(f"{p.name} {p.x:.3g} and {p.y:.3g}" for p in best) or "none"
    plot = LivePlot(figure, alt=f"{len(known)} candidates, {x} across and {y} up. Beaten by none: {listed}.")
    plot.curve(axes, "steps", "limit")
    for kind, (style, words) in _SIGNS.items():
        if any(p.kind == kind for p in known):
            plot.marker(axes, kind, style, label=words)
    if any(p.at_hand for p in known):
        plot.marker(axes, "at_hand", "here", label="build at hand")
    named = [p for p in known if p.at_hand or p.kind == "front"] or known
    for place, point in enumerate(named[:_MOST_NAMED]):
        right = point.x < sum(_around(xs)) / 2
        # The name of the build at hand stands below its point: the candidates nearest to it have theirs above.
        shift = (9.0 if right else -9.0, -18.0 if point.at_hand else 9.0)
        plot.text(axes, f"name_{place}", style="small", anchor="start" if right else "end", shift=shift)
    plot.legend(axes, _free_corner(xs, ys))
    corners = np.array([(p.x, p.y) for p in best]).reshape(-1, 2)
    markers = {
        kind: (np.array([p.x for p in known if p.kind == kind]), np.array([p.y for p in known if p.kind == kind]))
        for kind in _SIGNS
        if any(p.kind == kind for p in known)
    }
    at_hand = [p for p in known if p.at_hand]
    if at_hand:
        markers["at_hand"] = (np.array([at_hand[0].x]), np.array([at_hand[0].y]))
    plot.update(
        curves={"steps": (np.repeat(corners[:, 0], 2)[1:], np.repeat(corners[:, 1], 2)[:-1])},
        markers=markers,
        texts={f"name_{place}": (p.name, p.x, p.y) for place, p in enumerate(named[:_MOST_NAMED])},
    )
    return plot


def _around(values: Array) -> tuple[float, float]:
    """Return limits with room round all values, from zero on where they reach near it."""
    low, high = float(values.min()), float(values.max())
    room = 0.12 * (high - low) or 0.1 * abs(high) or 1.0
    return (0.0 if 0 <= low < 2 * room else low - room), high + 2 * room


def draw_chances(rows: Sequence[tuple[str, float, float, float]], title: str = "How likely each holds") -> Scene:
    """Draw chances as bars from low to high with a line at the share of the draws; rows of name, share, low, high.

    All shares are plain numbers from 0 to 1.
    """
    told = "; ".join(
        f"{name} {100 * share:.0f} % ({100 * low:.0f} to {100 * high:.0f})" for name, share, low, high in rows
    )
    scene = Scene(
        width=800.0,
        height=_FLOOR + _ROW * len(rows) + 6,
        title=title,
        alt=f"Chance of each candidate to hold its margins, with the bounds that the count of draws leaves: {told}.",
    )

    def at(chance: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * chance

    for place, (name, share, low, high) in enumerate(rows):
        y = _FLOOR + _ROW * (len(rows) - 1 - place) + 12
        scene.label((_LEFT - 14, y), _in_two_lines(name), anchor="end", style="small")
        scene.rectangle((at(low), y - 7), max(at(high) - at(low), 1.0), 14, "screw")
        scene.line((at(share), y - 11), (at(share), y + 11), "heavy")
        words = f"{100 * share:.0f} % ({100 * low:.0f} to {100 * high:.0f} %)"
        scene.label((_RIGHT + 14, y), words, anchor="start", style="small")
    scene.line((at(0.0), _FLOOR - 10), (at(1.0), _FLOOR - 10), "thin")
    for tenth in range(0, 11, 2):
        scene.line((at(tenth / 10), _FLOOR - 10), (at(tenth / 10), _FLOOR - 16), "thin")
        scene.label((at(tenth / 10), _FLOOR - 27), f"{10 * tenth} %", style="note")
    return scene


def _in_two_lines(name: str) -> str:
    """Return a name as it fits before its bar: parted where it is a list, and cut where nothing else helps."""
    if len(name) <= _LETTERS:
        return name
    places = [place for place in range(len(name)) if name.startswith("; ", place)]
    if places:
        at = min(places, key=lambda place: abs(place - len(name) / 2)) + 1
        lines = [name[:at], name[at + 1 :]]
    else:
        lines = [name]
    return "\n".join(line if len(line) <= _LETTERS else line[: _LETTERS - 1] + "…" for line in lines)


def _free_corner(xs: Array, ys: Array) -> LegendPlace:
    """Return the corner of the frame with the fewest points near it."""
    (left, right), (bottom, top) = _around(xs), _around(ys)
    across, up = (xs - left) / (right - left), (ys - bottom) / (top - bottom)
    corners: dict[LegendPlace, tuple[float, float]] = {
        "upper right": (1, 1), "lower right": (1, 0), "upper left": (0, 1), "lower left": (0, 0),
    }  # fmt: skip
    near = {place: int(((abs(across - x) < 0.35) & (abs(up - y) < 0.4)).sum()) for place, (x, y) in corners.items()}
    return min(corners, key=lambda place: near[place])


def draw_pairs(at_hand: Array, new: Array, own: Array, what: str, names: tuple[str, str]) -> LivePlot:
    """Draw an aim of two builds draw by draw, and how the difference is spread: on common draws, and on own ones.

    Args:
        at_hand, new: the aim in both builds on the same draws, in the unit of ``what``.
        own: the aim of the new build once more, on other draws.
        what: words for the aim, with its unit.
        names: what the builds are called.
    """
    figure, (left, right) = graph(columns=2, height=340)
    ends = _around(np.concatenate([at_hand, new]))
    frame(left, x=f"{names[0]}: {what}", y=f"{names[1]}: {what}", xlim=ends, ylim=ends, title="draw by draw")
    common, apart = np.sort(new - at_hand), np.sort(own - at_hand)
    reach = _around(np.concatenate([common, apart]))
    frame(right, x=f"difference of {what}", y="share of the draws below (%)", xlim=reach, ylim=(0, 100),
          title="difference")  # fmt: skip
    spread = f"{np.std(common):.2g} on common draws and {np.std(apart):.2g} on draws of their own"
    plot = LivePlot(
        figure,
        alt=(
            f"Left, {what} of {names[1]} over that of {names[0]} on the same draws, close to a line: correlation "
            f"{np.corrcoef(at_hand, new)[0, 1]:.2f}. Right, the share of draws below each difference: standard "
            f"deviation {spread}."
        ),
    )
    plot.curve(left, "alike", "limit", label="both alike")
    plot.marker(left, "draws", "point", label="a draw")
    plot.curve(right, "common", "main", label="common draws")
    plot.curve(right, "own", "second", label="own draws")
    plot.curve(right, "none", "limit")
    plot.legend(left, "upper left")
    plot.legend(right, "upper left")
    steps = 100 * (np.arange(len(common)) + 0.5) / len(common)
    plot.update(
        curves={"alike": (ends, ends), "common": (common, steps), "own": (apart, steps), "none": ([0, 0], [0, 100])},
        markers={"draws": (at_hand, new)},
    )
    return plot


def draw_settling(held: Sequence[tuple[str, NDArray[np.bool_]]], bounds: Sequence[tuple[Array, Array]]) -> LivePlot:
    """Draw how the share of draws that hold settles with their number, for some builds, with its bounds.

    Args:
        held: names, and for each draw in turn whether the build holds.
        bounds: low and high of the chance (plain numbers) after 1, 2, 3 ... draws, one pair for each build.
    """
    figure, (axes,) = graph(height=330)
    most = max(len(flags) for _, flags in held)
    frame(axes, x="draws", y=holding_share.axis("share that holds"), xlim=(1, most), ylim=(0, 100), xscale="log")
    told = "; ".join(f"{name} {100 * flags.mean():.0f} % after {len(flags)}" for name, flags in held)
    plot = LivePlot(figure, alt=f"Share of the draws that hold, over their number, with the bounds: {told}.")
    curves, bands = {}, {}
    for place, ((name, flags), (low, high)) in enumerate(zip(held, bounds, strict=True)):
        count = np.arange(1, len(flags) + 1)
        plot.band(axes, f"bounds_{place}", ("band", "band_second")[place % 2])
        plot.curve(axes, f"share_{place}", ("main", "second", "third")[place % 3], label=name)
        bands[f"bounds_{place}"] = (count, holding_share.shown(low), holding_share.shown(high))
        curves[f"share_{place}"] = (count, holding_share.shown(np.cumsum(flags) / count))
    plot.legend(axes, "lower right")
    plot.update(curves=curves, bands=bands)
    return plot


def draw_sets(rows: Sequence[tuple[str, Array]], size: int) -> Scene:
    """Draw the shares that small sets of draws found, a dot for each, over a bar of one over the root either way.

    Args:
        rows: names, and the share (a plain number) that each set found.
        size: draws in a set.
    """
    reach = 1 / np.sqrt(size)
    told = "; ".join(f"{name} {100 * found.min():.0f} to {100 * found.max():.0f} %" for name, found in rows)
    stacked = max(int(np.unique(np.round(found, 9), return_counts=True)[1].max()) for _, found in rows)
    high = 34.0 + 8.5 * stacked
    scene = Scene(
        width=800.0,
        height=_FLOOR + high * len(rows) + 6,
        title=f"What sets of {size} draws find",
        alt=(
            f"Share of the draws that hold, found by sets of {size} draws, as dots, over a bar of {100 * reach:.0f} % "
            f"either way of their mean: {told}."
        ),
    )

    def at(chance: float) -> float:
        return _SETS_LEFT + (_SETS_RIGHT - _SETS_LEFT) * chance

    for place, (name, found) in enumerate(rows):
        y = _FLOOR + high * (len(rows) - 1 - place) + 14
        mean = float(found.mean())
        low, upper = max(mean - reach, 0.0), min(mean + reach, 1.0)
        scene.label((_SETS_LEFT - 14, y + 16), name, anchor="end", style="small")
        scene.rectangle((at(low), y - 9), at(upper) - at(low), 10, "screw")
        shares, counts = np.unique(np.round(found, 9), return_counts=True)
        for share, count in zip(shares, counts, strict=True):
            for level in range(count):
                scene.circle((at(float(share)), y + 8 + 8.5 * level), 3.6, "grain")
    scene.line((at(0.0), _FLOOR - 10), (at(1.0), _FLOOR - 10), "thin")
    for tenth in range(0, 11, 2):
        scene.line((at(tenth / 10), _FLOOR - 10), (at(tenth / 10), _FLOOR - 16), "thin")
        scene.label((at(tenth / 10), _FLOOR - 27), f"{10 * tenth} %", style="note")
    return scene


def draw_against_bell(values: Array, limit: float, what: str) -> LivePlot:
    """Draw the share of draws below each value of a result, the bell with their mean and spread, and the limit."""
    ordered = np.sort(values)
    mean, spread = float(np.mean(ordered)), float(np.std(ordered))
    figure, (axes,) = graph(height=320)
    ends = _around(np.append(ordered, limit))
    frame(axes, x=what, y="share of the draws below (%)", xlim=ends, ylim=(0, 100))
    counted, bell = 100 * float(np.mean(ordered <= limit)), 100 * float(ndtr((limit - mean) / spread))
    plot = LivePlot(
        figure,
        alt=(
            f"{what}: share of {len(ordered)} draws below each value, beside the normal law with their mean "
            f"{mean:.3g} and spread {spread:.2g}. Below the limit of {limit:.3g} lie {counted:.0f} % of the draws and "
            f"{bell:.0f} % of the bell."
        ),
    )
    plot.curve(axes, "draws", "main", label="draws")
    plot.curve(axes, "bell", "second", label="normal law")
    plot.curve(axes, "limit", "limit", label="limit")
    plot.legend(axes, "lower right")
    along = np.linspace(*ends, 101)
    plot.update(
        curves={
            "draws": (ordered, 100 * (np.arange(len(ordered)) + 0.5) / len(ordered)),
            "bell": (along, 100 * ndtr((along - mean) / spread)),
            "limit": ([limit, limit], [0, 100]),
        }
    )
    return plot


def draw_deciders(found: Sequence[tuple[str, Array]], names: Sequence[str]) -> Scene:
    """Draw shares of the variance as bars; ``found`` are results and their shares, one for each input in ``names``."""
    rows = [(name, [float(shares[place]) for _, shares in found]) for place, name in enumerate(names)]
    told = "; ".join(f"{name} {', '.join(f'{100 * share:.0f} %' for share in shares)}" for name, shares in rows)
    high = 14.0 * len(found) + 12
    scene = Scene(
        width=800.0,
        height=44 + high * len(rows) + 24,
        title="Which input decides",
        alt=(
            "Share of the variance that would stay if all other inputs were known, of "
            f"{' and '.join(words for words, _ in found)}: {told}."
        ),
    )
    styles = ("screw", "grain", "hot")
    for place, (name, shares) in enumerate(rows):
        y = 40 + high * (len(rows) - 1 - place)
        scene.label((_LEFT - 14, y + high / 2 - 6), name, anchor="end", style="small")
        for row, share in enumerate(shares):
            bottom = y + 14.0 * (len(found) - 1 - row)
            long = (_RIGHT - _LEFT) * min(max(share, 0.0), 1.0)
            scene.rectangle((_LEFT, bottom), max(long, 0.5), 12, styles[row % 3])
            scene.label((_LEFT + long + 8, bottom + 6), f"{100 * share:.0f} %", anchor="start", style="note")
    for row, (words, _) in enumerate(found):
        scene.rectangle((40.0 + 250 * row, 8), 22, 14, styles[row % 3])
        scene.label((70.0 + 250 * row, 15), words, anchor="start", style="small")
    return scene
