"""Pictures of the air's way out: both ways in the tube, and the pressure that they take over the gap at the tip."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from augerbook.chapters.air import (
    air_flow,
    air_margin,
    air_pressure,
    bed_drop,
    fusing_drop_open,
    fusing_length,
    gap_gain,
    helix_way,
    open_way,
    straight_way,
)
from augerbook.chapters.conveying import inlet_pressure
from augerbook.chapters.screw import root_width, tip_gap
from augerbook.chapters.screw.picture import screw_outline
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.screw import core_diameter, crest_width, flank_half_angle, major_diameter, pitch
from augerbook.head.tube import bore_diameter

_WIDTH, _HEIGHT = 800.0, 316.0
#: The tube in picture units: its axis, half the bore, its ends, and where the grains have fused.
_AXIS, _BORE, _LEFT, _RIGHT, _FUSED = 176.0, 70.0, 30.0, 770.0, 640.0
#: Shortest and longest fusing zone, and shortest pitch of the way round the screw, that can be drawn.
_ZONE, _TURN = (44.0, 330.0), 26.0


def draw_ways(solution: Solution) -> Scene:
    """Draw the screw in its tube with the fusing zone, and the ways of the air over the flights and round the screw."""
    mm = {
        q: solution.shown(q)
        for q in (bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width, fusing_length)
    }
    scale = 2 * _BORE / mm[bore_diameter]
    scene = Scene(
        width=_WIDTH,
        height=_HEIGHT,
        title="Two ways back for the air",
        alt=(
            f"The screw in its tube: loose grains on the left, grains that fuse over {solution.text(fusing_length)}, "
            f"melt on the right. {solution.text(air_flow)} of air go back, straight over the flights through "
            f"{solution.text(straight_way)}, and round the screw, which is as good as {solution.text(helix_way)} "
            f"straight back: together {solution.text(gap_gain)} times what the way round passes alone. Gap sealed, "
            f"the air needs {solution.text(air_pressure)}; the grains are pressed with about "
            f"{solution.text(inlet_pressure)}."
        ),
    )
    zone = min(max(mm[fusing_length] * scale, _ZONE[0]), _ZONE[1])
    for start, end, style in (
        (_LEFT, _FUSED - zone, "plastic"),
        (_FUSED - zone, _FUSED, "soft"),
        (_FUSED, _RIGHT, "melt"),
    ):
        scene.rectangle((start, _AXIS - _BORE), end - start, 2 * _BORE, style)
    for y in (_AXIS + _BORE, _AXIS - _BORE - 12):
        scene.rectangle((_LEFT, y), _RIGHT - _LEFT, 12, "wall")
    core, major = (mm[q] / 2 * scale for q in (core_diameter, major_diameter))
    step, crest, root = (mm[q] * scale for q in (pitch, crest_width, root_width))
    profile = (core, major, step, crest, root, _LEFT, _RIGHT)
    scene.polygon(screw_outline(*profile, origin=(0.0, _AXIS)), "screw")
    scene.line((_LEFT, _AXIS), (_RIGHT, _AXIS), "centre")
    _ways(scene, solution, zone, (major + _BORE) / 2, (major + core) / 2, max(step, _TURN))
    _words(scene, solution, zone)
    return scene


def _ways(scene: Scene, solution: Solution, zone: float, over: float, between: float, turn: float) -> None:
    begin = _FUSED - zone / 2
    if solution[straight_way] > 0:
        scene.arrow((begin, _AXIS + over), (_LEFT + 60, _AXIS + over), "flow")
    along = np.linspace(begin, max(begin - 3 * turn, _LEFT + 60), 73)
    scene.arrow_along(np.column_stack([along, _AXIS - between * np.cos(2 * math.pi * (begin - along) / turn)]), "flow")


def _words(scene: Scene, solution: Solution, zone: float) -> None:
    above, below = _AXIS + _BORE + 28, _AXIS - _BORE - 28
    words = f"over the flights: {solution.text(straight_way)}"
    if solution[straight_way] <= 0:
        words = "no gap over the flights"
    scene.label((_LEFT, above), words, anchor="start", style="flow")
    scene.label((_RIGHT, above), f"round the screw: as good as {solution.text(helix_way)}", anchor="end", style="flow")
    scene.label((_LEFT, below), "loose grains", anchor="start", style="note")
    scene.label((_FUSED - zone / 2, below), f"fuse over {solution.text(fusing_length)}", style="note")
    scene.label((_RIGHT, below), "melt", anchor="end", style="note")
    inlet = f"pressure in the grains at the inlet {solution.text(inlet_pressure)}"
    needed = f"air needs {solution.text(air_pressure)} with the gap sealed"
    opened = f"{fusing_drop_open.text(solution[fusing_drop_open] + solution[bed_drop])} with the gap open"
    scene.label((_LEFT, below - 40), f"{needed}, {opened}; {inlet}", anchor="start")


_WIDEST = 3.0
_GAPS = np.linspace(0.0, _WIDEST, 121)


@cache
def _plot() -> LivePlot:
    figure, (axes,) = graph(height=340)
    frame(axes, x=tip_gap.axis("gap over the tip"), y=air_pressure.axis("pressure"), xlim=(0, _WIDEST),
          ylim=(0.01, 10_000), yscale="log")  # fmt: skip
    axes.set_yticks((0.01, 0.1, 1, 10, 100, 1000, 10_000), ("0.01", "0.1", "1", "10", "100", "1000", "10 000"))
    axes.minorticks_off()
    plot = LivePlot(figure, alt="pressure that the air needs over the gap at the tip")
    plot.curve(axes, "inlet", "limit", label="pressure in the grains at the inlet")
    plot.curve(axes, "sealed", "second", label="air, gap sealed in the fusing zone")
    plot.curve(axes, "open", "main", label="air, gap open")
    plot.marker(axes, "sealed_here", "point")
    plot.marker(axes, "open_here", "here")
    plot.legend(axes, "upper right")
    return plot


def draw_gap(solution: Solution) -> LivePlot:
    """Draw the pressures that the air needs, gap open and sealed, over the width of the gap, all else as it is."""
    plot = _plot()
    (ways,) = solution.sweep([open_way], [bore_diameter])(solution[major_diameter] + 2 * tip_gap.si(_GAPS))
    ways = open_way.shown(ways)
    now = solution.shown(open_way)
    bed = solution[bed_drop] * now / ways
    opened = bed + solution[fusing_drop_open] * now / ways
    sealed = bed + (solution[air_pressure] - solution[bed_drop])
    gap = solution.shown(tip_gap)
    here = solution[bed_drop] + solution[fusing_drop_open]
    plot.update(
        curves={
            "inlet": ([0.0, _WIDEST], [air_pressure.shown(solution[inlet_pressure])] * 2),
            "sealed": (_GAPS, air_pressure.shown(sealed)),
            "open": (_GAPS, air_pressure.shown(opened)),
        },
        markers={"sealed_here": (gap, solution.shown(air_pressure)), "open_here": (gap, air_pressure.shown(here))},
        alt=(
            f"Pressure that the air needs over the gap at the tip. At {solution.text(tip_gap)} it is "
            f"{fusing_drop_open.text(here)} with the gap open, and {solution.text(air_pressure)} where it has fused "
            f"before the rest; the open gap passes {solution.text(gap_gain)} times as much. The grains are pressed "
            f"with about {solution.text(inlet_pressure)}: a margin of {solution.text(air_margin)} when sealed."
        ),
    )
    return plot


PICTURES = (
    Picture(
        "Two ways back for the air",
        needs=(
            bore_diameter,
            major_diameter,
            core_diameter,
            pitch,
            crest_width,
            flank_half_angle,
            air_pressure,
            air_margin,
        ),
        draw=draw_ways,
    ),
)
