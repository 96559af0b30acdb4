"""Graphs of the operating point: where the screw's line meets the nozzle's, and speed and torque over the flow."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.conveying import cold_length, grip_exponent, inlet_pressure
from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt.models import nozzle_drop
from augerbook.chapters.melt.picture import ceiling, nozzle_of
from augerbook.chapters.operating import INPUTS, needed_torque, operating_speed, plug_pressure, state_of
from augerbook.chapters.operating.models import forward_from_plug
from augerbook.chapters.operating.picture import why_none
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.style import house_style
from augerbook.head.drive import stall_torque
from augerbook.head.printing import wanted_flow

#: Flows drawn, over the wanted one: of the nozzle's line, and of speed and torque.
_NOZZLE_FLOWS, _FLOWS = np.linspace(0.0, 2.0, 25)[1:], np.geomspace(0.25, 2.0, 10)
#: Pressures at the plug's end for which the screw's line is drawn, over that at work: on the way up its logarithm
#: counts, about the crossing the pressure itself.
_RISING, _PRESSED = np.geomspace(1e-3, 0.05, 8), np.linspace(0.05, 4.0, 60)[1:]


def screw_line(solution: Solution) -> tuple[np.ndarray, np.ndarray]:
    """Return flow (m³/s, solid) and pressure (Pa) at the tip, for a plug pressed from not at all to all it can.

    The screw turns at the operating speed, and temperatures stay as they are there.
    """
    least, speed = solution[inlet_pressure], solution[operating_speed]
    most = least * math.exp(min(solution[grip_exponent] * solution[cold_length], 100.0))
    pressure = np.clip(np.concatenate([[0.0], _RISING, _PRESSED]) * solution[plug_pressure], least, most)
    state = state_of(*(solution[q] for q in INPUTS))
    rows = np.zeros(pressure.size, dtype=np.intp)
    flow = state.plug.of(rows).brings(pressure) * speed
    soft = state.soft.of(rows)._replace(flow=flow * solution[melt_flow] / solution[wanted_flow])
    with np.errstate(all="ignore"):
        along = forward_from_plug(soft, np.full(pressure.size, speed), pressure)
    return flow, along.pressure[:, -1]


def nozzle_line(solution: Solution) -> tuple[np.ndarray, np.ndarray]:
    """Return flow (m³/s, solid) and the pressure (Pa) that the nozzle asks for, at the temperatures of the build."""
    drop = nozzle_drop(*nozzle_of(solution)._replace(flow=solution[melt_flow] * _NOZZLE_FLOWS))
    return solution[wanted_flow] * _NOZZLE_FLOWS, np.asarray(drop.pressure)


def over_flow(solution: Solution) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return flow (m³/s, solid), operating speed (1/s) and torque (N m); temperatures follow, NaN where it slips."""
    flow = solution[wanted_flow] * _FLOWS
    speed, torque = solution.sweep((operating_speed, needed_torque), (wanted_flow,))(flow)
    return flow, speed, torque


def _end(quantity: Quantity, values: np.ndarray, before: float) -> float:
    """A round end for an axis that holds the values (SI) that are defined; the one before when none is."""
    defined = quantity.shown(values[np.isfinite(values)])
    return ceiling(float(defined.max()))[0] if defined.size and defined.max() > 0 else before


class OperatingGraphs:
    """The screw's line and the nozzle's on the left, speed and torque over the flow on the right; both move."""

    def __init__(self, solution: Solution) -> None:
        figure, (meet, over) = graph(columns=2, height=380)
        with house_style():
            torque = over.twinx()
            torque.spines["right"].set_visible(True)
            torque.grid(visible=False)
        flow = wanted_flow.axis("flow, as solid plastic")
        frame(meet, x=flow, y=nozzle_pressure.axis("pressure at the screw's tip"), xlim=(0, 1), ylim=(0, 1),
              title="Where screw and nozzle meet")  # fmt: skip
        frame(over, x=flow, y=f"{operating_speed.axis('speed')}, full line", xlim=(0, 1), ylim=(0, 1),
              title="What more flow asks for")  # fmt: skip
        frame(torque, x="", y=f"{needed_torque.axis('torque')}, broken line", xlim=(0, 1), ylim=(0, 1))
        plot = LivePlot(figure, alt="Pressure over flow for screw and nozzle; speed and torque over flow.")
        plot.curve(meet, "nozzle", "second", label="nozzle asks for")
        plot.curve(meet, "screw", "main", label="screw gives")
        plot.marker(meet, "meets", "here")
        for row, name in enumerate(("at_speed", "at_pressure", "at_flow")):
            plot.text(meet, name, at=(0.97, 0.05 + 0.075 * row), style="small", anchor="end")
        plot.text(meet, "slips", at=(0.97, 0.05), style="strong", anchor="end")
        plot.legend(meet, "upper right")
        plot.curve(over, "speed", "main")
        plot.curve(torque, "torque", "second")
        plot.curve(torque, "stall", "limit")
        plot.marker(over, "speed_here", "here")
        plot.marker(torque, "torque_here", "here")
        plot.text(torque, "stall_name", style="small", shift=(6, 5))
        plot.text(over, "ends", at=(0.97, 0.05), style="strong", anchor="end")
        self._plot, self._axes = plot, (meet, over, torque)
        self._ends: tuple[tuple[float, float], ...] = ((1.0, 1.0),) * 3
        self(solution)

    def _rescale(self, ends: tuple[tuple[float, float], ...]) -> None:
        """Take new ends of the axes: round ones, so that the frame is drawn anew only rarely."""
        if ends == self._ends:
            return
        self._ends = ends
        for axes, (right, top) in zip(self._axes[:-1], ends[:-1], strict=True):
            axes.set(xlim=(0, right), ylim=(0, top))
        self._plot.rescale(self._axes[-1], xlim=(0, ends[-1][0]), ylim=(0, ends[-1][1]))

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        none = why_none(solution)
        here = {q: solution.shown(q) for q in (
            wanted_flow, nozzle_pressure, operating_speed, needed_torque, stall_torque,
        )}  # fmt: skip
        asked, asks = nozzle_line(solution)
        given, gives = (np.empty(0), np.empty(0)) if none else screw_line(solution)
        flow, speed, torque = over_flow(solution)
        (right, high), (_, fast), (_, strong) = self._ends
        right = _end(wanted_flow, flow, right)
        self._rescale((
            (right, _end(nozzle_pressure, 1.5 * asks, high)), (right, _end(operating_speed, 1.1 * speed, fast)),
            (right, _end(needed_torque, np.append(1.1 * torque, 1.1 * solution[stall_torque]), strong)),
        ))  # fmt: skip
        words = {q: solution.text(q) for q in here}
        slipping = np.isnan(speed)
        ends = none if slipping.all() else "where the curves end the plug slips" if slipping.any() else ""
        x, stall = here[wanted_flow], here[stall_torque]
        self._plot.update(
            curves={
                "nozzle": (wanted_flow.shown(asked), nozzle_pressure.shown(asks)),
                "screw": (wanted_flow.shown(given), nozzle_pressure.shown(gives)),
                "speed": (wanted_flow.shown(flow), operating_speed.shown(speed)),
                "torque": (wanted_flow.shown(flow), needed_torque.shown(torque)),
                "stall": (np.array([0.0, right]), np.array([stall, stall])),
            },
            markers={
                "meets": (math.nan if none else x, here[nozzle_pressure]),
                "speed_here": (x, here[operating_speed]),
                "torque_here": (x, here[needed_torque]),
            },
            texts={
                "at_flow": "" if none else words[wanted_flow],
                "at_pressure": "" if none else words[nozzle_pressure],
                "at_speed": "" if none else words[operating_speed],
                "slips": none,
                "stall_name": ("torque at stall", 0.0, stall),
                "ends": ends,
            },
            alt=self._alt(none, words, ends),
        )
        return self._plot

    @staticmethod
    def _alt(none: str, words: dict[Quantity, str], ends: str) -> str:
        if none:
            return f"No operating point at a flow of {words[wanted_flow]}, {none}. The nozzle's line is drawn alone."
        return (
            f"Left, pressure over flow at {words[operating_speed]}: the screw's line stands steep, the nozzle's rises "
            f"ever less; they meet at {words[wanted_flow]} and {words[nozzle_pressure]}. Right, speed and torque over "
            f"the flow from a quarter to twice of that: here {words[operating_speed]} and {words[needed_torque]}, of "
            f"{words[stall_torque]} at stall{'; ' + ends if ends else ''}."
        )
