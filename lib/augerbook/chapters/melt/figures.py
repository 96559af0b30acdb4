"""Figures of the chapter: where the melt bends, measured curves, a cylinder of melt, where pressure and heat go."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid

from augerbook.chapters.heat import melt_flow, melt_temperature, screw_radius
from augerbook.chapters.melt import (
    FLOW_LAW,
    bore_pressure,
    cone_pressure,
    entrance_pressure,
    fusing_time,
    grain_melt_time,
    hot_viscosity,
    land_pressure,
    nozzle_temperature,
    wall_rate,
    wall_stress,
)
from augerbook.chapters.melt.graphs import decades
from augerbook.chapters.melt.models import nozzle_drop, viscosity
from augerbook.chapters.melt.picture import ceiling, nozzle_of
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.feedstock import sieve_mesh
from augerbook.head.heating import set_temperature
from augerbook.head.nozzle import land_length, melt_bore_length, nozzle_diameter
from augerbook.head.plastic import VISCOSITY_INPUTS, power_index
from augerbook.head.tube import bore_diameter
from augerbook.tables import Row, read_table

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]

_STYLES = ("main", "second", "third", "fourth")
_MARKS = ("measured", "published", "point", "here")
_RATES = np.geomspace(0.1, 1e5, 81)
#: A rate (1/s) so high that nothing is left of the viscosity at rest.
_FAR = 1e12
#: How much colder and hotter than in the build the block is drawn (K).
_BESIDE = np.linspace(-20.0, 20.0, 21)


def _law(solution: Solution) -> list[float]:
    return [float(solution[q]) for q in FLOW_LAW]


def _shown(rate: Any, eta: Any) -> tuple[Any, Any]:
    """Return shear rate and viscosity, SI, as the axes show them."""
    return wall_rate.shown(rate), hot_viscosity.shown(eta)


def draw_bend(solution: Solution) -> LivePlot:
    """Draw the viscosity over the rate, and the two straight lines between which it bends."""
    law, at = _law(solution), float(solution[nozzle_temperature])
    rest, steep = float(solution[hot_viscosity]), float(solution[power_index]) - 1
    curve = viscosity(_RATES, at, *law)
    power = float(viscosity(_FAR, at, *law)) * (_RATES / _FAR) ** steep
    bend = float(np.exp(np.interp(0.0, np.log(rest / power), np.log(_RATES))))
    here = float(solution[wall_rate]), float(solution[wall_stress] / solution[wall_rate])
    figure, (axes,) = graph(height=240)
    plot = LivePlot(figure, alt=(
        f"Viscosity over shear rate, both on logarithmic scales. At rest it is {solution.text(hot_viscosity)}; about "
        f"{number(bend, 2)} 1/s it bends down and nears a straight line. At the wall of the land, at "
        f"{solution.text(wall_rate)}, {number(here[1], 3)} Pa·s are left."
    ))  # fmt: skip
    frame(axes, x=wall_rate.axis("shear rate"), y=hot_viscosity.axis("viscosity"), xlim=(0.1, 1e5), ylim=(1, 1e5),
          xscale="log", yscale="log", title="Between two straight lines")  # fmt: skip
    decades(axes)
    plot.curve(axes, "rest", "third", label=f"at rest {solution.text(hot_viscosity)}")
    plot.curve(axes, "power", "second", label="power law")
    plot.curve(axes, "melt", "main", label="this melt")
    plot.marker(axes, "wall", "here", label=f"wall of the land, {solution.text(wall_rate)}")
    plot.legend(axes, "lower left")
    plot.update(
        curves={
            name: _shown(_RATES, values)
            for name, values in (("rest", np.full(_RATES.size, rest)), ("power", power), ("melt", curve))
        },
        markers={"wall": _shown(*here)},
    )
    return plot


def draw_measured() -> LivePlot:
    """Draw the measured flow curves as points, and the row of the table of plastics for each as a line."""
    melts = read_table("melts")
    curves: dict[str, list[Row]] = {}
    for point in read_table("melt_curves").rows.values():
        curves.setdefault(point.name.partition(",")[0], []).append(point)
    figure, (axes,) = graph(height=270)
    frame(axes, x=wall_rate.axis("shear rate"), y=hot_viscosity.axis("viscosity"), xlim=(0.1, 1e4), ylim=(1, 1e5),
          xscale="log", yscale="log", title="Points: measured by others. Lines: the table of plastics")  # fmt: skip
    decades(axes)
    lines: dict[str, tuple[Array, Array]] = {}
    marks: dict[str, tuple[Array, Array]] = {}
    words = []
    plot = LivePlot(figure, alt="Measured viscosities beside the flow laws of the table.")
    kinds: dict[tuple[str, str], str] = {}
    for name, points in curves.items():
        kind, at = points[0].text("kind"), points[0].si("temperature")
        law = [melts.row(kind).si(q.key) for q in VISCOSITY_INPUTS]
        key = kinds.setdefault((kind, points[0].text("temperature")), f"line{len(kinds)}")
        if key not in lines:
            plot.curve(axes, key, _STYLES[len(lines) % 4], label=f"{kind}, {points[0].text('temperature')} °C")
            lines[key] = _shown(_RATES, viscosity(_RATES, at, *law))
        mark = f"points{len(marks)}"
        plot.marker(axes, mark, _MARKS[len(marks) % 4], label=f"{name} g/mol")
        marks[mark] = _shown(*(np.array([p.si(column) for p in points]) for column in ("rate", "viscosity")))
        words.append(f"{name} from {points[0].text('viscosity')} to {points[-1].text('viscosity')} Pa·s")
    plot.legend(axes, "lower left", columns=2)
    plot.update(curves=lines, markers=marks, alt=(
        "Measured viscosities as points, and the flow laws of the table as lines: " + ", ".join(words) + ". The lines "
        "fall as the points do; the two of polystyrene lie below theirs."
    ))  # fmt: skip
    return plot


def draw_cylinder(solution: Solution) -> Scene:
    """Draw the land cut lengthwise, with a cylinder of melt in it: what pushes it and what holds it back."""
    long, wide = solution.shown(land_length), solution.shown(nozzle_diameter)
    inner, wall = 0.3 * wide, 0.3 * wide
    window = max(1.9 * long, 6.5 * wide)
    scene = Scene(
        width=window, height=2.6 * wide, origin=(0.4 * long - window / 2, -1.25 * wide),
        title="A cylinder of melt in the land",
        alt=(
            f"The land to scale, {long:.3g} mm long and {wide:.3g} mm wide, cut lengthwise. A cylinder of melt in it "
            "is pushed to the right by the pressure on its left end; shear stress along its side holds it back."
        ),
    )  # fmt: skip
    scene.rectangle((0, wide / 2), long, wall, "metal").rectangle((0, -wide / 2 - wall), long, wall, "metal")
    scene.rectangle((0, -wide / 2), long, wide, "melt")
    scene.rectangle((0, -inner), long, 2 * inner, "soft")
    scene.line((-0.1 * long, 0), (1.1 * long, 0), "centre")
    for y in (-0.55 * inner, 0.55 * inner):
        scene.arrow((-0.24 * long, y), (-0.015 * long, y), "force")
    scene.label((-0.26 * long, 0), "pressure", anchor="end", style="force")
    for y in (-1.22 * inner, 1.22 * inner):
        scene.arrow((0.8 * long, y), (0.45 * long, y), "motion")
    scene.leader((0.62 * long, 1.22 * inner), (0.62 * long, wide / 2 + wall + 0.16 * wide), "shear stress")
    scene.dimension((1.14 * long, 0), (1.14 * long, inner), "r", text_at="right")
    scene.dimension((0, -wide / 2 - wall), (long, -wide / 2 - wall), f"land {long:.3g} mm", offset=-0.14 * wide)
    return scene


def speed_profile(solution: Solution, *, thins: bool = True) -> tuple[Array, Array]:
    """Return places from the middle (0) to the wall (1) of the land, and the speed there over the mean speed."""
    rate = float(solution[wall_rate]) * np.geomspace(1e-8, 1.0, 600)
    stress = viscosity(rate, solution[nozzle_temperature], *_law(solution)) * rate if thins else rate
    place = np.concatenate([[0.0], stress / stress[-1]])
    rates = np.concatenate([[0.0], rate])
    speed = -cumulative_trapezoid(rates[::-1], place[::-1], initial=0.0)[::-1]
    return place, speed / (2 * np.trapezoid(speed * place, place))


def draw_profiles(solutions: Named) -> LivePlot:
    """Draw the speed over the radius of the land: the more a melt thins, the more it moves as a plug."""
    figure, (axes,) = graph(height=240)
    frame(axes, x="place (0 middle, 1 wall)", y="speed over mean", xlim=(0, 1), ylim=(0, 2.2),
          title="Speed in the land: the more a melt thins, the flatter")  # fmt: skip
    plot = LivePlot(figure, alt="Speed over the radius of the land.")
    curves, words = {}, []
    for (name, solution), style in zip(solutions, _STYLES, strict=False):
        curves[name] = speed_profile(solution)
        middle = float(curves[name][1][0])
        plot.curve(axes, name, style, label=f"{name}, {solution.text(wall_stress)} at the wall")
        words.append(f"{number(middle, 3)} times the mean in {name}")
    plot.curve(axes, "even", "third", label="melt that does not thin")
    curves["even"] = speed_profile(solutions[0][1], thins=False)
    plot.legend(axes, "lower left")
    plot.update(curves=curves, alt=(
        "The speed falls from the middle of the land to nothing at the wall. In the middle it is "
        f"{', '.join(words)}, and twice the mean in a melt that does not thin."
    ))  # fmt: skip
    return plot


def draw_shares(solutions: Named) -> Scene:
    """Draw what land, entrance, cone and bore take of the pressure, as one bar for each named build."""
    parts = (("land", land_pressure, "melt"), ("its entrance", entrance_pressure, "hot"),
             ("cone", cone_pressure, "soft"), ("bore", bore_pressure, "screw"))  # fmt: skip
    words = "; ".join(
        f"{name}: " + ", ".join(f"{part} {solution.text(q)}" for part, q, _ in parts) for name, solution in solutions
    )
    long, high, left = 560.0, 44.0, 90.0
    scene = Scene(
        width=800, height=62 + 86 * len(solutions), title="Where the pressure goes",
        alt=f"A bar for each build, parted by what each part of the nozzle takes of the pressure. {words}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        y = 86 * (len(solutions) - place) - 16
        amounts = [(solution.shown(quantity), style) for _, quantity, style in parts]
        scene.label((left - 14, y + high / 2), name, anchor="end", style="strong")
        for at, part in parted_bar(scene, (left, y), long, high, amounts, whole=solution.shown(nozzle_pressure)):
            if part > 60:
                scene.label((at + part / 2, y - 14), f"{100 * part / long:.0f} %", style="small")
        scene.label((left + long + 14, y + high / 2), solution.text(nozzle_pressure), anchor="start")
    key_to_parts(scene, (left, 12), 150, [(part_name, style) for part_name, _, style in parts])
    return scene


def draw_warming(solutions: Named) -> LivePlot:
    """Draw the temperature of the melt along the bore before the nozzle, and that of the block."""
    longest = max(solution.shown(melt_bore_length) for _, solution in solutions)
    low = min(solution.shown(melt_temperature) for _, solution in solutions)
    high = max(solution.shown(set_temperature) for _, solution in solutions)
    figure, (axes,) = graph(height=240)
    frame(axes, x=melt_bore_length.axis("way along the melt bore"), y=set_temperature.axis("melt"), xlim=(0, longest),
          ylim=(10 * np.floor(low / 10 - 0.5), 10 * np.ceil(high / 10 + 0.5)),
          title="The bore brings the melt up to the block's temperature")  # fmt: skip
    plot = LivePlot(figure, alt="Temperature of the melt along the bore.")
    share, curves, words = np.linspace(0.0, 1.0, 41), {}, []
    for (name, solution), style in zip(solutions, _STYLES, strict=False):
        along = share * solution.shown(melt_bore_length)
        plot.curve(axes, name, style, label=f"{name}, block at {solution.text(set_temperature)}")
        plot.curve(axes, f"block_{name}", "limit")
        curves[name] = (along, set_temperature.shown(nozzle_of(solution).bore_temperature(share)))
        curves[f"block_{name}"] = (along, np.full(share.size, solution.shown(set_temperature)))
        words.append(f"{name} from {solution.text(melt_temperature)} to {solution.text(nozzle_temperature)}")
    plot.legend(axes, "lower right")
    plot.update(curves=curves, alt=f"The melt warms up along the bore before the nozzle: {', '.join(words)}.")
    return plot


def draw_fusing(solution: Solution) -> Scene:
    """Draw a grain in a hot bath beside the ring of plastic between screw and wall, to one scale, with their times."""
    bore, rod = solution.shown(bore_diameter) / 2, solution.shown(screw_radius)
    grain = solution.shown(sieve_mesh) / 2
    alone, ring = solution.text(grain_melt_time), solution.text(fusing_time)
    far = 5.2 * bore
    scene = Scene(
        width=10.4 * bore, height=3.3 * bore, origin=(-2.6 * bore, -1.85 * bore),
        title="A grain in a hot bath, and plastic in the tube",
        alt=(
            f"To one scale: a grain of {2 * grain:.3g} mm with heat from all sides softens in {alone}; the ring of "
            f"plastic between screw and wall, {bore - rod:.3g} mm thick, with heat from the wall only, takes {ring}."
        ),
    )  # fmt: skip
    scene.circle((0, 0), grain, "grain")
    scene.ring((far, 0), bore, 1.18 * bore, "metal").ring((far, 0), rod, bore, "grain").circle((far, 0), rod, "screw")
    for angle in np.arange(45, 360, 90):
        way = np.array([np.cos(np.deg2rad(angle)), np.sin(np.deg2rad(angle))])
        scene.arrow(way * (grain + 0.62 * bore), way * (grain + 0.06 * bore), "force")
        scene.arrow(np.array([far, 0]) + way * 1.55 * bore, np.array([far, 0]) + way * 1.02 * bore, "force")
    scene.label((0, -1.65 * bore), f"middle of the grain soft in {alone}", style="strong")
    scene.label((far, -1.65 * bore), f"ring fused in {ring}", style="strong")
    scene.leader((far + 0.3 * rod, 0.2 * rod), (far + 1.5 * bore, 0.4 * bore), "screw")
    scene.dimension((far - bore, 0), (far - rod, 0), "")
    middle = (bore + rod) / 2
    scene.leader((far - middle, 0.3 * rod), (far - 1.5 * bore, 0.4 * bore), f"{bore - rod:.3g} mm")
    return scene


def draw_hotter(solutions: Named) -> LivePlot:
    """Draw the flow at each build's own pressure over the temperature of the block."""
    figure, (axes,) = graph(height=250)
    plot = LivePlot(figure, alt="Flow at one pressure over the temperature of the block.")
    shares = np.geomspace(0.2, 5.0, 61)
    curves, marks, words = {}, {}, []
    for (name, solution), style in zip(solutions, _STYLES, strict=False):
        nozzle = nozzle_of(solution)
        asks = nozzle_drop(*nozzle._replace(
            flow=shares * nozzle.flow, set_temperature=nozzle.set_temperature + _BESIDE[:, None],
            melt_temperature=nozzle.melt_temperature + _BESIDE[:, None],
        )).pressure  # fmt: skip
        own = np.log(solution[nozzle_pressure])
        gain = np.exp([np.interp(own, np.log(line), np.log(shares)) for line in asks])
        flow = gain * solution.shown(melt_flow)
        plot.curve(axes, name, style, label=f"{name}, {solution.text(nozzle_pressure)}, block at "
                   f"{solution.text(set_temperature)}")  # fmt: skip
        plot.marker(axes, f"{name}_here", "here")
        curves[name] = (_BESIDE, flow)
        marks[f"{name}_here"] = (0.0, solution.shown(melt_flow))
        words.append(f"{name} from {flow[0]:.2g} to {flow[-1]:.2g} mm³/s")
    top = ceiling(max(float(flow.max()) for _, flow in curves.values()))[0]
    frame(axes, x="block hotter by (K)", y=melt_flow.axis("flow of melt"), xlim=(-20, 20), ylim=(0, top),
          title="Flow at the same pressure")  # fmt: skip
    plot.legend(axes, "upper left")
    plot.update(curves=curves, markers=marks, alt=(
        f"Flow at one pressure, with the block from 20 K colder to 20 K hotter than in the build: {', '.join(words)}."
    ))  # fmt: skip
    return plot
