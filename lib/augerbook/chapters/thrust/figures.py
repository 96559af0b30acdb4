"""Figures of the chapter: what the melt presses on, what friction takes, and shares of the strength over a length."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.thrust import SUBJECT, bore_section, end_factor, locking_friction, stall_thrust
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.screw import friction_screw
from augerbook.head.tube import bore_diameter

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]

#: Frictions drawn: from polished and wet to more than plastics have on steel.
_SLICK, _ROUGH = 0.02, 0.6
_STYLES = ("main", "second", "third", "fourth")


def draw_end(solutions: Named) -> Scene:
    """Draw the bore of each build from its end, to one scale: a ring of plug round a disc as large as the screw."""
    shares = {name: 1 / solution[end_factor] for name, solution in solutions}
    told = "; ".join(
        f"{name}: bore {solution.text(bore_diameter)}, {solution.text(bore_section)}, of which the plug has "
        f"{100 * shares[name]:.0f} % and the screw the rest, thrust over force through the thread "
        f"{solution.text(end_factor)}"
        for name, solution in solutions
    )
    scene = Scene(
        width=800, height=236, title="What the melt presses on, seen from the nozzle",
        alt=f"The bore from its end: a ring of plug round a disc of screw, their sections to one scale. {told}.",
    )  # fmt: skip
    scale = 190.0 / max(solution.shown(bore_diameter) for _, solution in solutions)
    for place, (name, solution) in enumerate(solutions):
        x, y, radius = 128.0 + 392.0 * place, 108.0, solution.shown(bore_diameter) * scale / 2
        inside = radius * math.sqrt(1 - shares[name])
        scene.circle((x, y), radius, "grain")
        scene.circle((x, y), inside, "screw")
        words = x + 122
        scene.label((words, y + 88), f"{name}, factor {solution.text(end_factor)}", anchor="start", style="strong")
        at = 0.72 * (inside + radius) / 2
        scene.leader((x + at, y + at), (words - 6, y + 44), f"plug {100 * shares[name]:.0f} %:\nthrough the thread")
        scene.leader((x + 0.5 * inside, y - 0.2 * inside), (words - 6, y - 34),
                     f"screw {100 * (1 - shares[name]):.0f} %:\nstraight to\nthe bearing")  # fmt: skip
    return scene


def draw_friction(solutions: Named) -> LivePlot:
    """Draw the thrust at stall over the friction of the screw, and from where on the screw locks."""
    rough = np.linspace(_SLICK, _ROUGH, 59)
    swept = [solution.sweep([stall_thrust], [friction_screw])(rough)[0] for _, solution in solutions]
    figure, (axes,) = graph(height=240)
    told = "; ".join(
        f"{name}: {stall_thrust.text(float(thrusts[0]))} at {_SLICK:g}, {solution.text(stall_thrust)} at "
        f"{solution.text(friction_screw)}, {stall_thrust.text(float(thrusts[-1]))} at {_ROUGH:g}; it locks from "
        f"{solution.text(locking_friction)} on"
        for (name, solution), thrusts in zip(solutions, swept, strict=True)
    )
    plot = LivePlot(figure, alt=f"Thrust at stall over the friction of the screw: it falls. {told}.")
    most = 1.05 * max(float(stall_thrust.shown(thrusts[0])) for thrusts in swept)
    frame(axes, x="friction of plastic on the screw", y=stall_thrust.axis("thrust at stall"), xlim=(0, _ROUGH),
          ylim=(0, most), title="A rough screw presses less, and locks")  # fmt: skip
    curves: dict[str, tuple[Array, Array]] = {}
    markers: dict[str, tuple[float | Array, float | Array]] = {}
    for (name, solution), thrusts, style in zip(solutions, swept, _STYLES, strict=False):
        plot.curve(axes, name, style, label=name)
        plot.marker(axes, f"{name}_here", "here")
        curves[name] = (rough, stall_thrust.shown(thrusts))
        markers[f"{name}_here"] = (solution[friction_screw], solution.shown(stall_thrust))
    locks = [solution[locking_friction] for _, solution in solutions]
    plot.marker(axes, "locks", "point", label="locks, from here to the right")
    markers["locks"] = (
        np.array(locks),
        np.array([np.interp(at, rough, stall_thrust.shown(found)) for at, found in zip(locks, swept, strict=True)]),
    )
    plot.legend(axes)
    plot.update(curves=curves, markers=markers)
    return plot


def draw_share(
    solutions: Named, share: Quantity, over: Quantity, low: float, high: float, *, x: str, title: str
) -> LivePlot:
    """Draw a share of the strength over one length, ``low`` to ``high`` times what each build has, with its margin.

    ``x`` says in words what length that is.
    """
    margin = next(m for m in SUBJECT.margins if m.quantity is share)
    figure, (axes,) = graph(height=240)
    lengths = [np.linspace(low, high, 80) * solution[over] for _, solution in solutions]
    found = [s.sweep([share], [over])(at)[0] for (_, s), at in zip(solutions, lengths, strict=True)]
    told = "; ".join(f"{name}: {s.text(share)} at {s.text(over)}" for name, s in solutions)
    plot = LivePlot(figure, alt=f"{share.name_in_words} over {over.name_in_words}; the limit is one. {told}.")
    ends = [float(over.shown(at[i])) for at in lengths for i in (0, -1)]
    frame(axes, x=over.axis(x), y="stress / strength left", xlim=(min(ends), max(ends)), ylim=(0, 2), title=title)
    plot.curve(axes, "limit", "limit", label="it yields")
    plot.curve(axes, "good", "third", label="good")
    across = np.array([min(ends), max(ends)])
    curves = {"limit": (across, np.full(2, margin.limit)), "good": (across, np.full(2, margin.good))}
    markers = {}
    for (name, solution), at, shares, style in zip(solutions, lengths, found, _STYLES, strict=False):
        plot.curve(axes, name, style, label=name)
        plot.marker(axes, f"{name}_here", "here")
        curves[name] = (over.shown(at), share.shown(shares))
        markers[f"{name}_here"] = (solution.shown(over), solution.shown(share))
    plot.legend(axes)
    plot.update(curves=curves, markers=markers)
    return plot
