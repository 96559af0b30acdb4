"""Figures of the chapter: two circles, torques and lengths on scales of tens, the winding's heat, weighed runs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.drive import (
    SUBJECT,
    back_voltage,
    backlash_line,
    case_temperature,
    core_stall_torque,
    corner_speed,
    frozen_torque,
    hot_resistance,
    impedance,
    microstep_torque,
    motor_speed,
    motor_stall_torque,
    pull_out_current,
    pull_out_torque,
    reactance,
    run_mean,
    run_spread,
    setscrew_torque,
    setting_runs,
    step_line,
    winding_temperature,
)
from augerbook.chapters.operating import needed_torque, turn_at_work
from augerbook.chapters.ripple import line_section
from augerbook.core.network import Network, Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.drive import (
    gear_efficiency,
    gear_permissible_torque,
    gear_ratio,
    holding_torque,
    microsteps,
    phase_inductance,
    rated_current,
    rotor_teeth,
    set_current,
    supply_voltage,
    weighed_runs,
)
from augerbook.head.printing import line_width
from augerbook.tables import read_table

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]

#: Motor speeds over the corner's, for which the two circles are drawn: one for each kind. The middle kind ends soon
#: beyond the corner, in otter at 1.3 times its speed.
SPEEDS = (0.5, 1.15, 6.0)
_PANEL, _AXIS_Y, _RADIUS = 262.0, 166.0, 88.0
#: Half the width and height of what is drawn of each.
_BOX = np.array([118.0, 108.0])


def draw_circles(solution: Solution) -> Scene:
    """Draw the currents that are possible at three speeds: a circle of the current, and one of the voltage."""
    corner = solution[corner_speed]
    speeds = corner * np.array(SPEEDS)
    wanted = [hot_resistance, reactance, impedance, back_voltage, pull_out_current]
    found = solution.sweep(wanted, [motor_speed])(speeds)
    most, volts = solution[set_current], solution[supply_voltage]
    scale = _RADIUS / most
    told = "; ".join(
        f"at {motor_speed.text(float(n))} {pull_out_current.text(float(i))}"
        for n, i in zip(speeds, np.broadcast_to(found[-1], 3), strict=True)
    )
    scene = Scene(
        width=800, height=338, title="Which currents are possible",
        alt=(
            f"Three times a circle of the set current, {solution.text(set_current)}, and one of the voltage, "
            f"{solution.text(supply_voltage)}, to one scale. The second shrinks and moves down as the motor turns "
            f"faster. The highest point within both is the current that makes torque: {told}."
        ),
    )  # fmt: skip
    around = np.linspace(0, 2 * math.pi, 361)
    beyond = []
    for panel, (n, *values) in enumerate(zip(speeds, *(np.broadcast_to(f, 3) for f in found), strict=True)):
        r, x, z, e, best = (float(v) for v in values)
        middle = np.array([136.0 + _PANEL * panel, _AXIS_Y])
        for reach in (_BOX * (1.0, 0.0), _BOX * (0.0, 1.0)):
            scene.line(middle - reach, middle + reach, "thin")
        ring = most * np.column_stack([np.cos(around), np.sin(around)])
        scene.path(middle + scale * ring, "main")
        centre = -e / z**2 * np.array([x, r])
        wide = centre + volts / z * np.column_stack([np.cos(around), np.sin(around)])
        outside = np.any(np.abs(wide) * scale > _BOX, axis=1)
        if outside.all():
            beyond.append(motor_speed.text(float(n)))
        scene.path(middle + scale * np.where(outside[:, None], np.nan, wide), "second")
        if best > 0:
            square = min(best, most)
            along = _on_edge(square, most, centre, volts / z)
            tip = middle + scale * np.array([along, square])
            scene.arrow(middle, tip, "force")
            scene.line((middle[0], tip[1]), tip, "hidden")
        scene.label((middle[0], middle[1] + 126), f"motor at {motor_speed.text(float(n))}", style="strong")
        scene.label((middle[0], middle[1] - 124), f"makes torque: {pull_out_current.text(best)}", style="small")
    scene.label((136 + 77, _AXIS_Y - 20), "along\nthe magnet", anchor="end", style="note")
    scene.label((136 - 8, _AXIS_Y + 100), "square to it", anchor="end", style="note")
    larger = f"; at {' and '.join(beyond)} that circle is larger than the panel" if beyond else ""
    scene.label((400, 12), f"full line: the set current, dashed: what the voltage allows{larger}", style="note")
    return scene


def _on_edge(height: float, most: float, centre: Array, radius: float) -> float:
    """Return where along the magnet the point of that height lies which both circles hold, the nearest to none."""
    reach = math.sqrt(max(radius**2 - (height - centre[1]) ** 2, 0.0))
    room = math.sqrt(max(most**2 - height**2, 0.0))
    left, right = max(centre[0] - reach, -room), min(centre[0] + reach, room)
    return min(max(0.0, left), right) if left <= right else (left + right) / 2


_ROW, _NAMES, _BARS = 30.0, 268.0, 700.0


def _decades(
    rows: list[tuple[str, float, str, str]], *, title: str, alt: str, unit: str, named: dict[int, str]
) -> Scene:
    """Draw a bar for each row (words, value, text, style) on a scale of tens, from a power of ten to one."""
    low = math.floor(math.log10(min(v for _, v, *_ in rows)) - 0.05)
    high = math.ceil(math.log10(max(v for _, v, *_ in rows)) + 0.35)
    height = _ROW * len(rows) + 56
    scene = Scene(width=800, height=height, title=title, alt=alt)

    def place(value: float) -> float:
        return _NAMES + (_BARS - _NAMES) * (math.log10(value) - low) / (high - low)

    for power in range(low, high + 1):
        x = place(10.0**power)
        scene.line((x, 34), (x, height - 8), "thin")
        scene.label((x, 20), named.get(power, f"{10.0**power:g}"), style="small")
    scene.label((_BARS + 46, 20), unit, anchor="start", style="small")
    for row, (words, value, text, style) in enumerate(rows):
        y = height - 14 - _ROW * (row + 1) + 8
        scene.rectangle((_NAMES, y), place(value) - _NAMES, 18, style)
        scene.label((_NAMES - 8, y + 9), words, anchor="end", style="small")
        scene.label((place(value) + 6, y + 9), text, anchor="start", style="small")
    return scene


def draw_torques(name: str, solution: Solution) -> Scene:
    """Draw the torques at the screw on a scale of tens: what is needed, what there is, what breaks, what would."""
    geared = solution[microstep_torque] * solution[gear_ratio] * solution[gear_efficiency]
    rows = [
        ("a microstep adds", geared, motor_stall_torque.text(geared), "void"),
        ("the screw needs", solution[needed_torque], solution.text(needed_torque), "plastic"),
        ("the motor stalls", solution[motor_stall_torque], solution.text(motor_stall_torque), "metal"),
        ("the gear is permitted", solution[gear_permissible_torque], solution.text(gear_permissible_torque), "bearing"),
        ("the core yields", solution[core_stall_torque], solution.text(core_stall_torque), "screw"),
        ("the set screws slip", solution[setscrew_torque], solution.text(setscrew_torque), "wall"),
        ("frozen plastic would shear", solution[frozen_torque], solution.text(frozen_torque), "melt"),
    ]
    rows = [row for row in rows if math.isfinite(row[1]) and row[1] > 0]
    return _decades(
        rows, title=f"Torques at the screw of {name}", unit="N·m", named={},
        alt="Bars on a scale of tens: " + "; ".join(f"{words} {text}" for words, _, text, _ in rows) + ".",
    )  # fmt: skip


def draw_lengths(solution: Solution) -> Scene:
    """Draw lengths of printed line on a scale of tens: of a microstep, a full step, the gear's play, a turn."""
    micro = solution[step_line]
    turn = solution[turn_at_work] / solution[line_section]
    rows = [
        ("a microstep", micro, step_line.text(micro), "void"),
        ("a full step", micro * solution[microsteps], step_line.text(micro * solution[microsteps]), "metal"),
        ("the gear's play", solution[backlash_line], solution.text(backlash_line), "bearing"),
        ("width of the line", solution[line_width], solution.text(line_width), "ghost"),
        ("a turn of the screw", turn, backlash_line.text(turn), "plastic"),
    ]
    rows = [row for row in rows if math.isfinite(row[1]) and row[1] > 0]
    named = {-7: "0.1 µm", -6: "1 µm", -5: "10 µm", -4: "0.1 mm", -3: "1 mm", -2: "10 mm", -1: "100 mm", 0: "1 m"}
    return _decades(
        rows, title="What a step is worth, as a length of printed line", unit="", named=named,
        alt="Bars on a scale of tens: " + "; ".join(f"{words} {text}" for words, _, text, _ in rows) + ".",
    )  # fmt: skip


def draw_warming(solutions: Named) -> LivePlot:
    """Draw the temperature of the winding over the set current: it bends upwards until there is none."""
    most = max(solution[set_current] for _, solution in solutions)
    currents = np.linspace(0.05, 2.6 * most, 140)
    across = set_current.shown(currents)
    swept = [s.sweep([winding_temperature, case_temperature], [set_current])(currents) for _, s in solutions]
    told = "; ".join(
        f"{name}: winding {s.text(winding_temperature)}, case {s.text(case_temperature)} at {s.text(set_current)}"
        for name, s in solutions
    )
    figure, (axes,) = graph(height=270)
    plot = LivePlot(figure, alt=f"Temperature of winding and case over the set current: it bends upwards. {told}.")
    frame(axes, x=set_current.axis("set current, amplitude"), y=winding_temperature.axis("temperature"),
          xlim=(0, float(across[-1])), ylim=(0, 200),
          title="Twice the current, four times the heat, and more")  # fmt: skip
    margin = next(m for m in SUBJECT.margins if m.quantity is winding_temperature)
    plot.curve(axes, "limit", "limit", label="class B")
    curves: dict[str, tuple[Array, Array]] = {
        "limit": (np.array([0.0, across[-1]]), np.full(2, float(margin.limit))),
    }
    markers = {}
    styles = (("main", "second"), ("third", "fourth"))
    for (name, s), (wound, cased), (first, second) in zip(solutions, swept, styles, strict=False):
        plot.curve(axes, f"{name}_winding", first, label=f"{name}, winding")
        plot.curve(axes, f"{name}_case", second, label=f"{name}, case")
        plot.marker(axes, f"{name}_here", "here")
        curves[f"{name}_winding"] = (across, winding_temperature.shown(wound))
        curves[f"{name}_case"] = (across, case_temperature.shown(cased))
        markers[f"{name}_here"] = (s.shown(set_current), s.shown(winding_temperature))
    plot.legend(axes, "lower right", columns=2)
    plot.update(curves=curves, markers=markers)
    return plot


class PullOut(NamedTuple):
    """A measured pull-out curve and what the model gives for it.

    Attributes:
        motor: the row of the table of motors.
        speed, measured: speeds of the motor (1/s) and the torques at which it lost its steps there (N m), (n,).
        modelled: the model's torques (N m) from the sheet's figures, with as much less, as printed, and as much more
            inductance as the sheet allows, (3, n).
        corner: motor speed (1/s) up to which the model's torque stays level.
    """

    motor: str
    speed: Array
    measured: Array
    modelled: Array
    corner: float


#: How far the inductance may lie from what the sheet of the measured motor prints: 20 per cent either way.
INDUCTANCE_TOLERANCE = 0.2


def measured_pull_out(network: Network) -> PullOut:
    """Return the measured pull-out curve of the tables beside the model's, the winding as cold as the sheet has it."""
    points = list(read_table("pull_out_curves").rows.values())
    first = points[0]
    speed, torque = (np.array([p.si(column) for p in points]) for column in ("motor_speed", "pull_out_torque"))
    sheet = read_table("motors").row(first.text("kind"))
    printed = (rotor_teeth, rated_current, holding_torque, phase_inductance)
    values: dict[Quantity, Any] = {q: sheet.si(q.key) for q in printed} | {
        q: first.si(q.key) for q in (supply_voltage, set_current)
    }
    values[hot_resistance] = sheet.si("phase_resistance")
    computed = network.compile([pull_out_torque], [motor_speed, phase_inductance], values)
    modelled = np.array([
        computed(speed, np.full_like(speed, share * values[phase_inductance]))[0]
        for share in (1 - INDUCTANCE_TOLERANCE, 1, 1 + INDUCTANCE_TOLERANCE)
    ])  # fmt: skip
    return PullOut(sheet.name, speed, torque, modelled, network.solve(values)[corner_speed])


def draw_pull_out(found: PullOut) -> LivePlot:
    """Draw a measured pull-out curve, and the model's with the tolerance of the inductance."""
    figure, (axes,) = graph(height=290)
    frame(axes, x=motor_speed.axis("speed of the motor"), y=pull_out_torque.axis("pull-out torque"), xlim=(0, 1300),
          ylim=(0, 0.6), title=f"A motor {found.motor}, measured and computed")  # fmt: skip
    less, printed, more = pull_out_torque.shown(found.modelled)
    speed, torque = motor_speed.shown(found.speed), pull_out_torque.shown(found.measured)
    shares, level = 100 * torque / printed, found.speed < found.corner
    plot = LivePlot(figure, alt=(
        f"Torque over the speed of the motor, from {speed[0]:.0f} to {speed[-1]:.0f} turns a minute. Measured it falls "
        f"from {torque[0]:.2f} to {torque[-1]:.2f} N·m, computed from {printed[0]:.2f} to {printed[-1]:.2f}; both bend "
        f"down beyond {motor_speed.shown(found.corner):.0f} turns a minute. What is measured is "
        f"{shares[level].mean():.0f} % of that before the bend, and {shares[~level].mean():.0f} % beyond it."
    ))  # fmt: skip
    plot.band(axes, "tolerance", "band", label=f"inductance {100 * INDUCTANCE_TOLERANCE:.0f} % more or less")
    plot.curve(axes, "model", "main", label="computed from the sheet")
    plot.marker(axes, "sheet", "measured", label="measured by the maker")
    plot.legend(axes, "lower left")
    plot.update(bands={"tolerance": (speed, more, less)}, curves={"model": (speed, printed)},
                markers={"sheet": (speed, torque)})  # fmt: skip
    return plot


def draw_weighings(solutions: Named) -> LivePlot:
    """Draw the weighed runs of each build as shares of their mean, with the spread of a single run."""
    figure, panels = graph(columns=len(solutions), height=250)
    told = "; ".join(
        f"{name}: {len(s.values[weighed_runs][0])} runs, mean {s.text(run_mean)}, "
        f"spread of a run {s.text(run_spread)}, "
        f"for a setting sure to one per cent {s.text(setting_runs)}"
        for name, s in solutions
    )
    plot = LivePlot(figure, alt=f"Weighed runs over their mean. {told}.")
    for axes, (name, s) in zip(panels, solutions, strict=True):
        mass = np.asarray(s.values[weighed_runs][0])
        share, spread = 100 * mass / s[run_mean], 100 * s[run_spread] / s[run_mean]
        reach = max(6.0, 1.3 * float(np.abs(share - 100).max()), 1.5 * spread)
        frame(axes, x="run", y="mass over the mean (%)", xlim=(0.5, len(mass) + 0.5),
              ylim=(100 - reach, 100 + reach), title=f"{name}: {s.text(run_mean)}")  # fmt: skip
        axes.set_xticks(range(1, len(mass) + 1))
        ends = np.array([0.5, len(mass) + 0.5])
        plot.band(axes, f"{name}_spread", "band", label="spread of a run")
        plot.band(axes, f"{name}_wanted", "band_second", label="one per cent")
        plot.marker(axes, f"{name}_runs", "measured")
        plot.legend(axes, "upper right")
        plot.update(
            bands={
                f"{name}_spread": (ends, np.full(2, 100 - spread), np.full(2, 100 + spread)),
                f"{name}_wanted": (ends, np.full(2, 99.0), np.full(2, 101.0)),
            },
            markers={f"{name}_runs": (np.arange(1.0, len(mass) + 1), share)},
        )
    return plot
