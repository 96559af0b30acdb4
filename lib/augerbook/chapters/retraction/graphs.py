"""Graphs of start and stop, live: flow over time, the width of a line that is slowed down, what stiffness buys."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt import NOZZLE_INPUTS, local_exponent
from augerbook.chapters.plate import even_head_stiffness, head_stiffness
from augerbook.chapters.retraction import (
    command_needed,
    emptying_time,
    lead_time,
    release_volume,
    screw_takeback,
    slow_flow,
    start_time,
    stop_time,
    stop_time_whole,
    stored_volume,
    takeback_flow,
    tangent_lead,
)
from augerbook.chapters.retraction.models import Emptying, emptying, follow, law_table, power_table
from augerbook.chapters.ripple import line_section, line_speed
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.drive import gear_backlash
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plate import plate_thickness
from augerbook.head.printing import (
    layer_height,
    line_width,
    print_acceleration,
    retraction_speed,
    retraction_volume,
    slow_speed,
    wanted_flow,
)

Array = NDArray[np.float64]

#: How long the graphs of start and stop reach (s).
_LONG = 6.0
#: A stretch that is printed slowly, and how much of the line is shown before and after it (mm).
SLOW_STRETCH, _BEFORE, _AFTER = 5.0, 12.0, 22.0
_MOMENTS = 800


def takes_back(solution: Solution, time: Array) -> Array:
    """Return the flow of the screw (share of that at work) at moments (s) after it turned round.

    It turns back until it has taken what the machine is told to take back, or until nothing is stored: then it may
    turn on, and the melt stays where it is.
    """
    back = solution[takeback_flow] / solution[melt_flow]
    # Play and wall's hold do not lower the pressure, and the backlash is crossed before the screw moves.
    not_taken = max(solution[release_volume] - solution[screw_takeback], 0.0)
    from_the_store = max(solution[stored_volume] - not_taken, 0.0)
    begins = solution[gear_backlash] / (2 * math.pi * solution[retraction_speed])
    ends = begins + from_the_store / solution[takeback_flow]
    return np.where((time >= begins) & (time < ends), -back, 0.0)


class StopGraphs:
    """Flow after a stop, with and without taking back, and flow after a start."""

    def __init__(self, solution: Solution) -> None:
        figure, (left, right) = graph(columns=2, height=300)
        frame(left, x=stop_time.axis("time after the motor stops"), y="flow (% of that at work)", xlim=(0, _LONG),
              ylim=(0, 108), title="Stop")  # fmt: skip
        frame(right, x=start_time.axis("time after the motor starts"), y="flow (% of that at work)", xlim=(0, _LONG),
              ylim=(0, 108), title="Start")  # fmt: skip
        plot = LivePlot(figure, alt="Flow over time after a stop and after a start.")
        plot.curve(left, "stops", "main", label="nothing taken back")
        plot.curve(left, "back", "second", label="taken back")
        plot.curve(right, "starts", "main", label="from no pressure")
        plot.marker(left, "tenth", "here")
        plot.marker(right, "nearly", "here")
        plot.legend(left, "upper right")
        plot.legend(right, "lower right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        time = np.linspace(0.0, _LONG, 241)
        whole, n = solution[emptying_time], solution[local_exponent]
        if not (math.isfinite(whole) and n > 0):
            nothing = (time, np.full(len(time), np.nan))
            self._plot.update(
                curves={"stops": nothing, "back": nothing, "starts": nothing},
                markers={"tenth": (math.nan, math.nan), "nearly": (math.nan, math.nan)},
                alt="Not defined: the plug slips, nothing is pressed and nothing is stored.",
            )
            return self._plot
        still, table = np.zeros(len(time)), power_table(n)
        stops, back = follow(time, still, table, whole), follow(time, takes_back(solution, time), table, whole)
        starts = follow(time, still + 1, table, whole, start=0.0)
        self._plot.update(
            curves={
                "stops": (stop_time.shown(time), 100 * stops),
                "back": (stop_time.shown(time), 100 * back),
                "starts": (start_time.shown(time), 100 * starts),
            },
            markers={"tenth": (solution.shown(stop_time), 10.0), "nearly": (solution.shown(start_time), 90.0)},
            alt=(
                f"Left, after a stop with nothing taken back the flow falls to a tenth in {solution.text(stop_time)} "
                f"and trails off; taking back {solution.text(retraction_volume)} cuts it short, since "
                f"{solution.text(command_needed)} are needed. Right, from no pressure the flow comes to nine tenths "
                f"in {solution.text(start_time)}."
            ),
        )
        return self._plot


def emptied(solution: Solution, steps: int = 4) -> Emptying:
    """Return how the store of a solution empties, with so many steps in each decade of the flow."""
    one = (np.full((1, 1), solution[q]) for q in (stored_volume, slow_flow, *NOZZLE_INPUTS))
    return emptying(*one, steps=steps)


class Around(NamedTuple):
    """A line around a slow stretch: places (mm), and widths (mm) for each lead that was asked for."""

    place: Array
    widths: tuple[Array, ...]


def width_of(solution: Solution, section: Array) -> Array:
    """Return the width (mm) of a line with a section (mm²) at the height of the layer; a thread where it is thin."""
    high = solution.shown(layer_height)
    flat = section / high + (1 - math.pi / 4) * high
    return np.where(section < math.pi / 4 * high**2, np.sqrt(4 * np.maximum(section, 0.0) / math.pi), flat)


def _within_reach(wanted: Array, most: float) -> Array:
    """Return the steps of something that follows a wanted place by at most so much in each step."""
    at = float(wanted[0])
    steps = []
    for place in wanted[1:].tolist():
        steps.append(min(max(place - at, -most), most))
        at += steps[-1]
    return np.array([steps[0], *steps])


def around_slow_stretch(solution: Solution, leads: tuple[float, ...]) -> Around:
    """Return the width of a line whose head slows down for a stretch, for leads as shares of the lead time.

    The screw is ahead of the line by the lead times the flow, as far as it can follow: it turns no faster than it
    takes back, to either side. What leaves the nozzle is laid over the nozzle's own diameter.
    """
    fast, slow = solution.shown(line_speed), min(solution.shown(slow_speed), solution.shown(line_speed))
    hard = solution.shown(print_acceleration)
    slows = (fast - slow) / hard
    way = (fast**2 - slow**2) / (2 * hard)
    stay = SLOW_STRETCH / slow
    corners = np.cumsum([0.0, max(_BEFORE - way, 0.5) / fast, slows, stay, slows, _AFTER / fast])
    time = np.linspace(0.0, corners[-1], _MOMENTS)
    step = float(time[1])
    speed = np.interp(time, corners, [fast, fast, slow, slow, fast, fast])
    gone = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * step)])
    start = np.interp(corners[2], time, gone)
    place = np.linspace(gone[0] + 1, gone[-1] - 1, 500)
    spot = solution.shown(nozzle_diameter)
    table = law_table(emptied(solution))
    widths = []
    for lead in leads:
        ahead = (gone + lead * solution[lead_time] * speed) / fast
        brought = _within_reach(ahead, step * max(solution[takeback_flow] / solution[melt_flow], 1.0)) / step
        flow = follow(time, brought, table, solution[emptying_time])
        laid = np.concatenate([[0.0], np.cumsum((flow[1:] + flow[:-1]) / 2 * step)]) * fast
        laid *= solution.shown(line_section)
        over = (np.interp(place + spot / 2, gone, laid) - np.interp(place - spot / 2, gone, laid)) / spot
        widths.append(width_of(solution, over))
    return Around(place - start, tuple(widths))


class CornerGraph:
    """Width of the line around a slow stretch: flow not led, led by half, led by the lead time."""

    _LEADS = ((0.0, "none", "second", "no lead"), (0.5, "half", "third", "half the lead time"),
              (1.0, "full", "main", "the lead time"))  # fmt: skip

    def __init__(self, solution: Solution) -> None:
        figure, (axes,) = graph(height=300)
        wide = solution.shown(line_width)
        frame(axes, x="place along the line, 0 where it begins to be slow (mm)", y=line_width.axis("width of the line"),
              xlim=(-11, 24), ylim=(0, 2.2 * wide))  # fmt: skip
        plot = LivePlot(figure, alt="Width of the line around a slow stretch.")
        plot.band(axes, "slow", "band", label="slow stretch")
        for _, name, style, label in self._LEADS:
            plot.curve(axes, name, style, label=label)
        plot.legend(axes, "upper right", columns=2)
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        known = math.isfinite(solution[lead_time]) and solution[local_exponent] > 0
        if not known:
            nothing = (np.zeros(2), np.full(2, np.nan))
            self._plot.update(
                curves={name: nothing for _, name, _, _ in self._LEADS},
                bands={"slow": (np.array([0.0, SLOW_STRETCH]), 0.0, 100.0)},
                alt="Not defined: the plug slips, nothing is pressed and nothing is stored.",
            )
            return self._plot
        place, widths = around_slow_stretch(solution, tuple(lead for lead, *_ in self._LEADS))
        told = "; ".join(
            f"{label}: {width.min():.2f} to {width.max():.2f} mm"
            for (_, _, _, label), width in zip(self._LEADS, widths, strict=True)
        )
        self._plot.update(
            curves={name: (place, width) for (_, name, _, _), width in zip(self._LEADS, widths, strict=True)},
            bands={"slow": (np.array([0.0, SLOW_STRETCH]), 0.0, 100.0)},
            alt=(
                f"Width of the line around a stretch of {SLOW_STRETCH:g} mm that is printed with "
                f"{solution.text(slow_speed)} in place of {solution.text(line_speed)}; {solution.text(line_width)} "
                f"are wanted. {told}."
            ),
        )
        return self._plot


class StiffnessGraphs:
    """Stored volume over the stiffness of the head, and over the thickness of its plate."""

    _STIFF = np.geomspace(0.3, 100.0, 61)
    _THICK = np.linspace(1.0, 12.0, 56)

    def __init__(self, solution: Solution) -> None:
        figure, (left, right) = graph(columns=2, height=300)
        top = 1.6 * solution.shown(stored_volume) if math.isfinite(solution[stored_volume]) else 8.0
        frame(left, x=head_stiffness.axis("stiffness of the head"), y=stored_volume.axis("stored"), xlim=(0.3, 100),
              ylim=(0, 2 * top), xscale="log", title="A stiffer head")  # fmt: skip
        frame(right, x=plate_thickness.axis("thickness of the plate"), y=stored_volume.axis("stored"), xlim=(1, 12),
              ylim=(0, 2 * top), title="A thicker plate")  # fmt: skip
        left.set_xticks((0.3, 1, 3, 10, 30, 100), ("0.3", "1", "3", "10", "30", "100"))
        left.minorticks_off()
        plot = LivePlot(figure, alt="Stored volume over stiffness and over thickness.")
        for axes, name, here in ((left, "stiff", "now"), (right, "thick", "built")):
            plot.curve(axes, name, "main", label="stored")
            plot.curve(axes, f"{name}_rigid", "limit", label="nothing bends")
            plot.marker(axes, here, "here", label="this build")
        plot.curve(left, "even", "third", label="springs as soft as melt")
        plot.legend(left, "upper right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        (stiff,) = solution.sweep([stored_volume], [head_stiffness])(head_stiffness.si(self._STIFF))
        (thick,) = solution.sweep([stored_volume], [plate_thickness])(plate_thickness.si(self._THICK))
        (rigid,) = solution.sweep([stored_volume], [head_stiffness])(np.array([1e15]))
        firm = float(stored_volume.shown(rigid[0]))
        even = solution.shown(even_head_stiffness)
        here = solution.shown(stored_volume)
        self._plot.update(
            curves={
                "stiff": (self._STIFF, stored_volume.shown(stiff)),
                "thick": (self._THICK, stored_volume.shown(thick)),
                "stiff_rigid": (self._STIFF[[0, -1]], np.array([firm, firm])),
                "thick_rigid": (self._THICK[[0, -1]], np.array([firm, firm])),
                "even": (np.array([even, even]), np.array([0.0, 1e3])),
            },
            markers={"now": (solution.shown(head_stiffness), here), "built": (solution.shown(plate_thickness), here)},
            alt=(
                f"Stored volume over the stiffness of the head: {solution.text(stored_volume)} at "
                f"{solution.text(head_stiffness)}, {firm:.3g} mm³ if nothing bent. At "
                f"{solution.text(even_head_stiffness)} the springs give as much as the melt before the nozzle; from "
                "ten times that on they hardly count. Right, the same over the thickness of the plate, which stops "
                "mattering where the other springs rule."
            ),
        )
        return self._plot


def draw_tail(solution: Solution) -> LivePlot:
    """Draw the flow after a stop with the exponent at work, with the whole flow law, and as an exponential."""
    whole, n = solution[emptying_time], solution[local_exponent]
    late = 20.0 * whole
    figure, (axes,) = graph(height=290)
    frame(axes, x=stop_time.axis("time after the motor stops"), y="flow (% of that at work)",
          xlim=(0, float(stop_time.shown(late))), ylim=(0.01, 130), yscale="log")  # fmt: skip
    axes.set_yticks((0.01, 0.1, 1, 10, 100), ("0.01", "0.1", "1", "10", "100"))
    time = np.linspace(0.0, late, 200)
    real = emptied(solution, steps=10)
    shares = real.flow[0] / real.flow[0, 0]
    plot = LivePlot(figure, alt=(
        f"After a stop, flow on a logarithmic scale. With the exponent at work, {n:.2g}, it comes to a tenth in "
        f"{solution.text(stop_time)}; with the whole flow law in {solution.text(stop_time_whole)}. Much later the "
        "whole law falls on a straight line, as an exponential does, and the one of a fixed exponent stays above."
    ))  # fmt: skip
    plot.curve(axes, "law", "main", label="whole flow law")
    plot.curve(axes, "power", "second", label="exponent at work")
    plot.curve(axes, "newton", "limit", label="no thinning, same store and flow")
    plot.legend(axes, "upper right")
    plot.update(curves={
        "law": (stop_time.shown(real.time[0]), 100 * shares),
        "power": (stop_time.shown(time), 100 * (1 + (1 / n - 1) * time / whole) ** (-1 / (1 - n))),
        "newton": (stop_time.shown(time), 100 * np.exp(-time / whole)),
    })  # fmt: skip
    return plot


def draw_lead_over_flow(solution: Solution) -> LivePlot:
    """Draw the lead for small changes over the flow at which they happen."""
    flows = np.geomspace(0.3, 12.0, 41)
    leads = tangent_lead.shown(solution.sweep([tangent_lead], [wanted_flow])(wanted_flow.si(flows))[0])
    here = solution.shown(tangent_lead)
    figure, (axes,) = graph(height=260)
    frame(axes, x=wanted_flow.axis("flow"), y=tangent_lead.axis("lead for a small change"), xlim=(0.3, 12),
          xscale="log", ylim=(0, 1.15 * float(np.nanmax(leads))))  # fmt: skip
    axes.set_xticks((0.3, 1, 3, 10), ("0.3", "1", "3", "10"))
    axes.minorticks_off()
    plot = LivePlot(figure, alt=(
        f"Lead for a small change over the flow: {np.nanmax(leads):.2g} s at {flows[np.nanargmax(leads)]:.2g} mm³/s, "
        f"{solution.text(tangent_lead)} at {solution.text(wanted_flow)}, {leads[np.isfinite(leads)][-1]:.2g} s at the "
        "fastest flow shown that the plug still presses."
    ))  # fmt: skip
    plot.curve(axes, "lead", "main")
    plot.marker(axes, "here", "here")
    plot.update(
        curves={"lead": (flows, np.asarray(leads))},
        markers={"here": (solution.shown(wanted_flow), here)},
    )
    return plot
