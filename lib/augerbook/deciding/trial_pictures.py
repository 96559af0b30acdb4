"""Pictures of trials that were made: every weighing with the means, what was learnt, what another trial would tell."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.core.quantity import Quantity
from augerbook.deciding.calibrating import Expected, Narrowed
from augerbook.deciding.comparing import Compared
from augerbook.deciding.weighings import Weighings
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene

#: More points than this are thinned for the eye; all of them count.
_MOST_POINTS = 2000
#: Names longer than this are cut in pictures.
_LONG = 18


def _short(name: str) -> str:
    return name if len(name) <= _LONG else f"{name[: _LONG - 1]}…"


def draw_weighings(weighings: Weighings, compared: Compared) -> LivePlot:
    """Draw every weighing in the order of weighing, screw by screw, with mean and interval; what lies far is marked."""
    flow = 1e6 * weighings.per_turn
    figure, (axes,) = graph(height=270)
    told = "; ".join(
        f"{s.name}: {s.count} weighings, mean {1e6 * s.mean:.4g} mg a turn"
        + (f", {1e6 * s.low:.4g} to {1e6 * s.high:.4g}" if math.isfinite(s.low) else "")
        + (f", far from the rest {len(s.outlying)}" if s.outlying else "")
        for s in compared.screws
    )
    plot = LivePlot(figure, alt=f"Mass that a turn brought, each weighing a point. {told}.")
    ends = [1e6 * x for s in compared.screws for x in (s.low, s.high) if math.isfinite(x)]
    low, high = min([*ends, float(flow.min())]), max([*ends, float(flow.max())])
    room = 0.12 * (high - low) or 0.1 * abs(high) or 1.0
    frame(axes, x="", y="mass a turn (mg)", xlim=(0, len(compared.screws)), ylim=(low - room, high + 3.6 * room),
          title="Every weighing, the means, and where they lie")  # fmt: skip
    axes.set_xticks(
        np.arange(len(compared.screws)) + 0.5,
        [f"{_short(s.name)}, {s.count}" for s in compared.screws],
        parse_math=False,
    )
    points, far, means, intervals = [], [], [], []
    for place, screw in enumerate(compared.screws):
        rows = np.flatnonzero(weighings.of(screw.name))
        across = place + 0.12 + 0.62 * (np.arange(len(rows)) + 0.5) / len(rows)
        odd = np.isin(np.array(weighings.lines)[rows], screw.outlying)
        kept = np.arange(len(rows))[:: max(1, len(rows) // _MOST_POINTS)]
        points.append(np.column_stack([across[kept], flow[rows][kept]]))
        far.append(np.column_stack([across[odd], flow[rows][odd]]))
        means.append((place + 0.87, 1e6 * screw.mean))
        intervals += [(place + 0.87, 1e6 * x) for x in (screw.low, screw.high)] + [(math.nan, math.nan)]
    plot.marker(axes, "points", "point", label="a weighing")
    plot.marker(axes, "far", "published", label="far from the rest, counted all the same")
    plot.curve(axes, "intervals", "main", label=f"interval of the mean, {100 * compared.confidence:g} %")
    plot.marker(axes, "means", "measured", label="mean")
    plot.legend(axes, columns=2)
    all_points, all_far = np.vstack(points), np.vstack(far)
    between = np.array(intervals)
    between[~np.isfinite(between).all(axis=1)] = math.nan
    plot.update(
        curves={"intervals": (between[:, 0], between[:, 1])},
        markers={
            "points": (all_points[:, 0], all_points[:, 1]),
            "far": (all_far[:, 0], all_far[:, 1]),
            "means": tuple(np.array(means).T),
        },
    )
    return plot


def draw_ranking(ranked: Sequence[Expected], result: Quantity) -> Scene:
    """Draw what each trial would leave of the spread of a result, as bars, and how sure its verdict would be."""
    told = "; ".join(f"{one.name}: {100 * one.left:.0f} % left{_surer(one)}" for one in ranked)
    judged = [one for one in ranked if math.isfinite(one.holds)]
    scene = Scene(
        width=800, height=(74 if judged else 46) + 40 * len(ranked),
        title=f"Spread left by each trial: {result.name_in_words}",
        alt=f"Bars: the share of the spread of the {result.name_in_words} that is left after each trial. {told}.",
    )  # fmt: skip
    left, long = 270.0, 370.0
    for row, one in enumerate(ranked):
        y = scene.view_height - 46.0 - 40.0 * row - 24.0
        scene.label((left - 12, y + 12), one.name, anchor="end")
        scene.rectangle((left, y), long, 24.0, "void")
        scene.rectangle((left, y), long * one.left, 24.0, "plate")
        scene.label((left + long + 10, y + 12), f"{100 * one.left:.0f} %", anchor="start", style="strong")
        if math.isfinite(one.right):
            scene.label((790, y + 12), f"{100 * one.right:.0f} %", anchor="end")
    if judged:
        holds = judged[0].holds
        scene.label(
            (790, 14), "bar: spread left; last column: chance that the likelier verdict on the margin is right, now "
            f"{100 * max(holds, 1 - holds):.0f} %", anchor="end", style="note",
        )  # fmt: skip
    return scene


def _surer(one: Expected) -> str:
    if not math.isfinite(one.holds):
        return ""
    return (
        f", the likelier verdict right in {100 * one.right:.0f} % (now {100 * max(one.holds, 1 - one.holds):.0f} %), "
        f"turned round in {100 * one.turned:.0f} %"
    )


def draw_narrowed(narrowed: Sequence[Narrowed]) -> Scene:
    """Draw inputs before and after trials, each over what its spread was: one standard deviation to either side."""
    told = "; ".join(
        f"{one.quantity.name_in_words}: {one.quantity.text(one.before)} give or take "
        f"{_plain(one, one.before_deviation)}, then {one.quantity.text(one.after)} give or take "
        f"{_plain(one, one.deviation)}"
        for one in narrowed
    )
    scene = Scene(
        width=800, height=74 + 52 * len(narrowed),
        title="What the trials taught: one standard deviation to either side",
        alt=f"Ranges of uncertain inputs before and after the trials. {told}.",
    )  # fmt: skip
    middle, reach = 480.0, 120.0
    for row, one in enumerate(narrowed):
        y = scene.view_height - 66.0 - 52.0 * row
        scene.label((300, y + 2), one.quantity.name_in_words, anchor="end")
        scene.rectangle((middle - reach, y + 2), 2 * reach, 14.0, "void")
        at = middle + reach * (one.after - one.before) / one.before_deviation
        wide = reach * one.left
        scene.rectangle((at - wide, y - 14), 2 * wide, 14.0, "screw")
        words = f"{one.quantity.text(one.after)} ± {_plain(one, one.deviation)}"
        scene.label((middle + 1.35 * reach, y), words, anchor="start")
    scene.label((middle, 14), "white: before, grey: after", style="note")
    return scene


def _plain(one: Narrowed, deviation: float) -> str:
    """A deviation in the shown unit: a temperature scale has no say in it."""
    q = one.quantity
    return f"{float(q.shown(one.after + deviation) - q.shown(one.after)):.2g}"
