"""Figures of the chapter: melt alone, what gives way where, one speed for all, torques, rounds, thrusts, a spread."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.conveying import cold_length
from augerbook.chapters.heat import melt_flow, softened_length
from augerbook.chapters.melt.picture import ceiling
from augerbook.chapters.operating import (
    INPUTS,
    block_torque,
    blocked_thrust,
    hard_torque,
    needed_torque,
    operating_speed,
    operating_thrust,
    pump_alone_speed,
    push_reserve,
    soft_share,
    soft_torque,
    state_of,
    torn_stress,
    torque_share,
)
from augerbook.chapters.operating.graphs import nozzle_line, screw_line
from augerbook.chapters.operating.models import back_from_nozzle, flow_stress
from augerbook.chapters.thrust import nozzle_pressure, pressure_thrust, stall_thrust, wall_thrust
from augerbook.core.fixed_point import fixed_point, within_range
from augerbook.core.network import Choices, Network, Solution, Values
from augerbook.core.quantity import Quantity
from augerbook.core.spread import spread
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.drive import running_torque, stall_torque
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import core_diameter, major_diameter
from augerbook.head.tube import bore_diameter, tube_length

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]

#: Rounds shown: a circle that runs away may take its time.
ROUNDS_SHOWN = 24
#: Where the rounds begin, over the torque assumed: low enough to see the way.
FIRST_SHARE = 1 / 3


def melt_line(solution: Solution, speed: float) -> tuple[Array, Array]:
    """Return flow (m³/s, solid) and pressure (Pa) of a screw in melt alone that turns with ``speed`` (1/s).

    The relation says which speed a flow and a pressure ask for, and is straight in the pressure: so two pressures tell
    at which one the speed is the one given.
    """
    share = np.linspace(0.0, 2.0, 9)
    asks = solution.sweep([pump_alone_speed], [melt_flow, nozzle_pressure])
    high = np.full(share.size, solution[nozzle_pressure])
    (without,), (with_it,) = (asks(solution[melt_flow] * share, pressure) for pressure in (0.0 * high, high))
    return solution[wanted_flow] * share, high * (speed - without) / (with_it - without)


def draw_melt_alone(solution: Solution) -> LivePlot:
    """Draw the nozzle's line, the screw's in melt alone at two speeds, and the screw's with a plug behind it."""
    flow, asks = nozzle_line(solution)
    right = ceiling(float(wanted_flow.shown(flow[-1])))[0]
    high = ceiling(1.3 * float(nozzle_pressure.shown(asks[-1])))[0]
    figure, (axes,) = graph(height=285)
    alone, works = solution.text(pump_alone_speed), solution.text(operating_speed)
    plot = LivePlot(figure, alt=(
        f"Pressure over flow. The nozzle's line rises. The line of a screw in melt alone lies nearly level: it crosses "
        f"the nozzle's at {solution.text(wanted_flow)} and {solution.text(nozzle_pressure)} only at {alone}; at "
        f"{works} it lies on the axis. With a plug behind it the screw's line stands steep and crosses there at "
        f"{works}."
    ))  # fmt: skip
    frame(axes, x=wanted_flow.axis("flow, as solid plastic"), y=nozzle_pressure.axis("pressure at the tip"),
          xlim=(0, right), ylim=(0, high), title="Melt alone, and with a plug behind it")  # fmt: skip
    lines = (
        ("nozzle", "second", "nozzle asks for", (flow, asks)),
        ("plug", "main", f"plug and melt, {works}", screw_line(solution)),
        ("alone", "third", f"melt alone, {alone}", melt_line(solution, solution[pump_alone_speed])),
        ("slow", "fourth", f"melt alone, {works}: on the axis", melt_line(solution, solution[operating_speed])),
    )
    for name, style, words, _ in lines:
        plot.curve(axes, name, style, label=words)
    plot.marker(axes, "meets", "here")
    plot.legend(axes, "upper left")
    plot.update(
        curves={name: (wanted_flow.shown(x), nozzle_pressure.shown(y)) for name, _, _, (x, y) in lines},
        markers={"meets": (solution.shown(wanted_flow), solution.shown(nozzle_pressure))},
    )
    return plot


class Stresses(NamedTuple):
    """Stresses on the wall (Pa) over the place from the throat (m), where the plastic is soft; arrays (N,)."""

    place: Array
    flows: Array
    torn: Array
    rubs: Array
    carried: Array


def stresses_of(solution: Solution) -> Stresses:
    """Return what each of the three ways to give way would take, and what the wall feels, slice by slice."""
    soft, speed = state_of(*(solution[q] for q in INPUTS)).soft, np.array([solution[operating_speed]])
    along = back_from_nozzle(soft, speed)
    edges = solution[cold_length] + np.concatenate([[0.0], np.cumsum(soft.length[0])])
    flows = flow_stress(soft, speed)[0]
    middle = (along.pressure[0, 1:] + along.pressure[0, :-1]) / 2
    place = (edges[1:] + edges[:-1]) / 2
    return Stresses(place, flows, np.full(place.size, soft.torn_stress[0]), soft.friction[0] * middle, along.stress[0])


def draw_stresses(solution: Solution) -> LivePlot:
    """Draw the three stresses along the soft plastic, and the smallest of them, which counts."""
    found = stresses_of(solution)
    flowing = found.flows <= np.minimum(found.torn, found.rubs)
    at = cold_length.shown(found.place)
    flows, torn, rubs, carried = (torn_stress.shown(stress) for stress in found[1:])
    begins = float(at[flowing.argmax()])
    figure, (axes,) = graph(height=285)
    start, end = (float(at[i]) for i in (0, -1))
    plot = LivePlot(figure, alt=(
        f"Stress on the wall along the soft plastic, from {start:.0f} to {end:.0f} mm behind the throat. Where it is "
        f"just soft it tears, at {solution.text(torn_stress)} on the wall, or slips, whichever is less. From "
        f"{begins:.0f} mm on it flows as melt, and the stress falls to {carried[-1]:.2g} MPa at the tip."
    ))  # fmt: skip
    frame(axes, x=cold_length.axis("place behind the throat"), y=torn_stress.axis("stress on the wall"),
          xlim=(start - 0.5, end + 0.5), ylim=(1e-3, 30), yscale="log", title="What gives way first")  # fmt: skip
    plot.band(axes, "least", "band", label="what the wall feels")
    for name, style, words in (("flows", "third", "to flow as melt"), ("rubs", "fourth", "to slip"),
                               ("torn", "second", "to tear at the tips")):  # fmt: skip
        plot.curve(axes, name, style, label=words)
    plot.legend(axes, "upper right", columns=2)
    plot.update(
        curves={"flows": (at, flows), "rubs": (at, rubs), "torn": (at, torn)},
        bands={"least": (at, 1e-3, carried)},
    )
    return plot


def draw_circles(solutions: Named) -> Scene:
    """Draw screw and bore seen from the end, with the circles on which soft plastic could be cut, and their stress."""
    widest = max(solution.shown(bore_diameter) for _, solution in solutions)
    pace = 3.2 * widest
    words = []
    scene_parts = []
    for number, (name, solution) in enumerate(solutions):
        tip, wall = solution.shown(major_diameter) / 2, solution.shown(bore_diameter) / 2
        radii = np.linspace(tip, wall, 3)
        # The relation tells the stress at the wall of a bore: a bore of any width tells it on a circle of that width.
        (stress,) = solution.sweep([torn_stress], [bore_diameter])(bore_diameter.si(2 * radii))
        texts = [torn_stress.text(float(value)) for value in stress]
        words.append(f"{name}: {texts[0]} at the tips, where it tears, {texts[1]} half-way, {texts[2]} at the wall")
        scene_parts.append((number * pace, name, solution, radii, texts))
    scene = Scene(
        width=pace * len(solutions) + 0.05 * widest, height=1.42 * widest, origin=(-0.75 * widest, -0.8 * widest),
        title="Where soft plastic tears",
        alt=(
            "Screw and bore seen from the end, to scale, with three circles in the plastic between tips and wall. One "
            f"torque passes through all of them; the stress is largest on the smallest. {'; '.join(words)}."
        ),
    )  # fmt: skip
    turn = np.linspace(0, 2 * np.pi, 121)
    for x, name, solution, radii, texts in scene_parts:
        wall, core = float(radii[-1]), solution.shown(core_diameter) / 2
        scene.circle((x, 0), wall + 0.06 * widest, "metal")
        scene.circle((x, 0), wall, "grain")
        scene.circle((x, 0), core, "screw")
        for radius, style in zip(radii[:2], ("force", "hidden"), strict=True):
            scene.path(np.column_stack([x + radius * np.cos(turn), radius * np.sin(turn)]), style)
        arc = np.radians(np.linspace(200, 20, 30))
        scene.arrow_along(np.column_stack([x + 0.55 * core * np.cos(arc), 0.55 * core * np.sin(arc)]), "motion")
        scene.label((x, -0.7 * widest), name, style="strong")
        for radius, text, angle, height, what in zip(
            radii, texts, (35, 4, -32), (0.4, 0.02, -0.36), ("tips: tears", "half-way", "wall"), strict=True
        ):
            spot = (x + radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle)))
            scene.leader(spot, (x + 0.74 * widest, height * widest), f"{what}\n{text}",
                         "force" if angle == 35 else "label")  # fmt: skip
    return scene


_ZONES = (("hard plug", "plastic", hard_torque), ("soft plastic", "soft", soft_torque),
          ("melt in the block", "melt", block_torque))  # fmt: skip


def draw_torques(solutions: Named) -> Scene:
    """Draw the torque at work of each build as a bar parted by zones, with what its motor has at stall."""
    words = "; ".join(
        f"{name}: {solution.text(needed_torque)} of {solution.text(stall_torque)} at stall, "
        f"{solution.text(soft_share)} of it in soft plastic"
        for name, solution in solutions
    )
    longest = max(solution[stall_torque] for _, solution in solutions)
    long, high, left = 560.0, 40.0, 90.0
    scene = Scene(
        width=800, height=62 + 104 * len(solutions), title="Where the torque goes",
        alt=f"A bar for each build, parted into hard plug, soft plastic and melt in the heated block. {words}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        y = 104 * (len(solutions) - place) - 22
        scene.label((left - 14, y + high / 2), name, anchor="end", style="strong")
        torques = [(max(solution[torque], 0.0), style) for _, style, torque in _ZONES]
        parted_bar(scene, (left, y), long, high, torques, whole=longest)
        end = left + long * solution[stall_torque] / longest
        scene.line((left, y - 8), (end, y - 8), "limit")
        scene.line((end, y - 14), (end, y + high), "limit")
        scene.label((end + 10, y + high / 2), f"{solution.text(stall_torque)}\nat stall", anchor="start", style="small")
        share = 100 * solution[torque_share]
        scene.label(
            (left, y - 25),
            f"{solution.text(needed_torque)} at work, {share:.0f} % of the torque at stall",
            anchor="start",
            style="small",
        )
    key_to_parts(scene, (left, 14), 180, [(zone, style) for zone, style, _ in _ZONES])
    return scene


def rounds_of(solution: Solution, rounds: int = ROUNDS_SHOWN, start: float = FIRST_SHARE) -> tuple[Array, Array, Array]:
    """Return the torque assumed in each round (N m), the softened length (m) and the reserve, NaN once it slips.

    As `core.fixed_point` goes round, from the share ``start`` of the torque that is assumed.
    """
    circles = solution.network.circles
    known = {circle.assumed: solution[circle.assumed] for circle in circles}
    known[running_torque] *= start
    watched = (softened_length, push_reserve, *(circle.found for circle in circles))
    sweep = solution.sweep(watched, list(known))
    rows = np.full((rounds + 1, 3), np.nan)
    for number in range(rounds + 1):
        soft, reserve, *found = (float(column[0]) for column in sweep(*(np.array([value]) for value in known.values())))
        if not all(map(math.isfinite, found)):
            rows[number:] = np.nan
            break
        rows[number:] = known[running_torque], soft, reserve  # as if it stayed; what comes next writes over it
        if number and np.allclose(rows[number], rows[number - 1], rtol=1e-7, atol=0):
            break
        for circle, value in zip(circles, found, strict=True):
            known[circle.assumed] = float(within_range(circle.assumed, value))
    torque, length, left = rows.T
    return torque, length, left


class RoundsGraphs:
    """Torque and softened length, round after round from a third of the torque: they settle, or run away."""

    def __init__(self, solution: Solution) -> None:
        figure, (torque, length) = graph(columns=2, height=285)
        plot = LivePlot(figure, alt="Torque and softened length over the rounds.")
        for axes, drawn, words, title in (
            (torque, needed_torque, "torque assumed", "Torque heats, soft plastic takes torque"),
            (length, softened_length, "softened length", "How much of the tube is soft"),
        ):
            frame(axes, x="round", y=drawn.axis(words), xlim=(0, ROUNDS_SHOWN), ylim=(0, 1), title=title)
        for axes, name in ((torque, "torque"), (length, "length")):
            plot.curve(axes, name, "main")
            plot.marker(axes, f"{name}_at", "point")
        plot.curve(torque, "stall", "limit")
        plot.curve(length, "tube", "limit")
        plot.text(torque, "stall_name", style="small", shift=(6, 6))
        plot.text(length, "tube_name", style="small", shift=(6, 6))
        plot.text(torque, "end", at=(0.97, 0.06), style="strong", anchor="end")
        self._plot, self._axes, self._tops = plot, (torque, length), (1.0, 1.0)
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Go round from what a solution assumes."""
        torque, length, reserve = rounds_of(solution)
        known = np.isfinite(torque)
        count = int(known.sum())
        stall, tube = solution.shown(stall_torque), solution.shown(tube_length)
        high = max(stall, float(needed_torque.shown(np.nanmax(torque)))) if count else stall
        tops = ceiling(1.1 * high)[0], ceiling(1.1 * tube)[0]
        if tops != self._tops:
            self._tops = tops
            for axes, top in zip(self._axes, tops, strict=True):
                self._plot.rescale(axes, ylim=(0, top))
        number = np.arange(torque.size)
        if count == 0:
            end = "the plug slips from the start"
        elif count <= ROUNDS_SHOWN:
            end = f"in round {count} the plug slips"
        elif abs(torque[-1] / torque[-2] - 1) > 2e-3:
            end = "it has not settled yet"
        else:
            end = f"settled, reserve {push_reserve.text(float(reserve[-1]))}"
        ends = (np.array([0.0, ROUNDS_SHOWN]),) * 2
        here = (needed_torque.shown(torque), softened_length.shown(length))
        first, last = (number[known][0], number[known][-1]) if count else (0, 0)
        said = (
            f"from {running_torque.text(float(torque[first]))} to {running_torque.text(float(torque[last]))} and from "
            f"{softened_length.text(float(length[first]))} to {softened_length.text(float(length[last]))} soft"
            if count else "no round"
        )  # fmt: skip
        self._plot.update(
            curves={
                "torque": (number, here[0]), "length": (number, here[1]),
                "stall": (ends[0], np.full(2, stall)), "tube": (ends[1], np.full(2, tube)),
            },
            markers={"torque_at": (number[known], here[0][known]), "length_at": (number[known], here[1][known])},
            texts={"stall_name": ("torque at stall", 0.0, stall), "tube_name": ("length of the tube", 0.0, tube),
                   "end": end},
            alt=f"Torque and softened length over the rounds, {said}: {end}.",
        )  # fmt: skip
        return self._plot


def draw_thrusts(solutions: Named) -> Scene:
    """Draw the thrust of each build as bars: printing, with what the wall adds, just blocked, and stalled."""
    words = "; ".join(
        f"{name}: {solution.text(operating_thrust)} while printing, {solution.text(pressure_thrust)} of it from the "
        f"pressure on the bore, {solution.text(blocked_thrust)} as the nozzle blocks, {solution.text(stall_thrust)} "
        "at stall"
        for name, solution in solutions
    )
    longest = max(solution[stall_thrust] for _, solution in solutions)
    long, high, left, row = 520.0, 22.0, 180.0, 32.0
    block = 3 * row + 34
    scene = Scene(
        width=800, height=44 + block * len(solutions), title="What presses on the bearing",
        alt=f"Bars of the thrust, to one scale. {words}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        top = block * (len(solutions) - place) + 24
        scene.label((left - 12, top + 4), name, anchor="end", style="strong")
        # A wall that holds a lining may take more than it adds; then the bar ends short of the pressure on the bore.
        pressed, added = min(solution[pressure_thrust], solution[operating_thrust]), max(solution[wall_thrust], 0.0)
        states = (
            ("printing", ((pressed, "melt"), (added, "grain")), operating_thrust),
            ("nozzle blocks", ((solution[blocked_thrust], "screw"),), blocked_thrust),
            ("stalled", ((solution[stall_thrust], "jammed"),), stall_thrust),
        )
        for number, (state, thrusts, whole) in enumerate(states):
            y = top - row * (number + 1)
            at, wide = parted_bar(scene, (left, y), long, high, thrusts, whole=longest)[-1]
            scene.label((left - 12, y + high / 2), state, anchor="end", style="small")
            scene.label((at + wide + 10, y + high / 2), solution.text(whole), anchor="start")
    key_to_parts(scene, (left, 12), 230, [("pressure on the bore", "melt"), ("what the wall adds", "grain")])
    return scene


class Band(NamedTuple):
    """Torque (N m) over the flow (m³/s): nominal, and its ends from the spreads of a build; arrays (n,)."""

    flow: Array
    nominal: Array
    low: Array
    high: Array


def torque_band(
    network: Network,
    values: Values,
    ends: Mapping[Quantity, tuple[float, float]],
    choices: Choices,
    shares: Sequence[float] = (0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0),
) -> Band:
    """Return the torque with its spread at ``shares`` of the wanted flow, torque and heat in balance at each.

    Where the plug slips the torque is NaN.
    """
    rows = []
    for flow in values[wanted_flow] * np.array(shares):
        start = {**values, wanted_flow: float(flow)}
        found = fixed_point(network, start, choices, rounds=6).values
        settled = {**start, **{q: float(value[0]) for q, value in found.items()}}
        # What is assumed keeps its spread in proportion, as it does on the page.
        moved = {
            q: tuple(end * settled[q] / values[q] for end in pair) if q in found else pair for q, pair in ends.items()
        }
        around = spread(network, needed_torque, settled, moved, choices)
        rows.append((float(flow), around.nominal, around.low, around.high))
    return Band(*np.array(rows).T)


def draw_bands(bands: Sequence[tuple[str, Solution, Band]]) -> LivePlot:
    """Draw the torque over the flow with its spread as a band, and what the motor has at stall."""
    figure, every = graph(columns=len(bands), height=285)
    words = []
    for name, solution, band in bands:
        here = int(np.argmin(np.abs(band.flow - solution[wanted_flow])))
        low, middle, high = (needed_torque.text(float(part[here])) for part in (band.low, band.nominal, band.high))
        words.append(
            f"{name}: at {solution.text(wanted_flow)} {middle}, from {low} to {high}; at "
            f"{wanted_flow.text(float(band.flow[-1]))} {needed_torque.text(float(band.nominal[-1]))}, "
            f"of {solution.text(stall_torque)} at stall"
        )
    plot = LivePlot(figure, alt=f"Torque over flow, with its spread as a band. {'; '.join(words)}.")
    curves, parts, markers, texts = {}, {}, {}, {}
    for axes, (name, solution, band) in zip(every, bands, strict=True):
        right, stall = float(wanted_flow.shown(band.flow[-1])), solution.shown(stall_torque)
        top = ceiling(1.1 * max(stall, float(np.nanmax(band.high))))[0]
        frame(axes, x=wanted_flow.axis("flow, as solid plastic"), y=needed_torque.axis("torque"), xlim=(0, right),
              ylim=(0, top), title=f"{name}, and the spread of its inputs")  # fmt: skip
        plot.band(axes, f"band_{name}", "band")
        plot.curve(axes, f"torque_{name}", "main")
        plot.curve(axes, f"stall_{name}", "limit")
        plot.marker(axes, f"here_{name}", "here")
        plot.text(axes, f"stall_name_{name}", style="small", shift=(6, -14))
        x = wanted_flow.shown(band.flow)
        parts[f"band_{name}"] = (x, needed_torque.shown(band.low), needed_torque.shown(band.high))
        curves[f"torque_{name}"] = (x, needed_torque.shown(band.nominal))
        curves[f"stall_{name}"] = (np.array([0.0, right]), np.full(2, stall))
        markers[f"here_{name}"] = (solution.shown(wanted_flow), solution.shown(needed_torque))
        texts[f"stall_name_{name}"] = ("torque at stall", 0.0, stall)
    plot.update(curves=curves, bands=parts, markers=markers, texts=texts)
    return plot
