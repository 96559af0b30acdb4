"""Graphs that follow a build: how speed, height of the rail and thickness of the plate change the ringing."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.plate import SUBJECT as PLATE
from augerbook.chapters.plate import plate_mass, springback_over_retraction
from augerbook.chapters.plate.figures import stiffness_and_mass, strip_width
from augerbook.chapters.ringing import (
    acceleration_wave,
    dunkerley_frequency,
    filled_wave,
    head_mass,
    highest_acceleration,
    lower_frequency,
    plate_mass_share,
    quiet_speed,
    slide_frequency,
    speed_wave,
    visible_share,
)
from augerbook.chapters.ripple import line_speed
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.carriage import rail_height, visible_wave
from augerbook.head.plate import plate_density, plate_thickness, plate_youngs_modulus

Array = NDArray[np.float64]

#: Spring-back over retraction beyond which the chapter on the plate warns.
(BLOB_LIMIT,) = (margin.limit for margin in PLATE.margins if margin.quantity is springback_over_retraction)


def waves_over_speed(first: Solution) -> Callable[[Solution], LivePlot]:
    """Return a graph of the three bounds of a wave over the speed of printing, and of what may just be seen."""
    speeds = np.geomspace(1.0, 200.0, 97)
    figure, (axes,) = graph(height=330)
    frame(axes, x=line_speed.axis("speed of printing"), y=acceleration_wave.axis("wave, valley to crest"),
          xlim=(1, 200), ylim=(1e-3, 1), xscale="log", yscale="log")  # fmt: skip
    plot = LivePlot(figure, alt="Three bounds of the wave on the wall over the speed of printing.")
    plot.curve(axes, "acceleration", "second", label="by the acceleration")
    plot.curve(axes, "speed", "third", label="by the jump of speed")
    plot.curve(axes, "filled", "fourth", label="what the line does not fill")
    plot.curve(axes, "least", "main", label="least of the three")
    plot.curve(axes, "seen", "limit", label="may just be seen")
    plot.marker(axes, "here", "here")
    plot.legend(axes, "lower right")

    def draw(solution: Solution) -> LivePlot:
        bounds = [q.shown(found) for q, found in zip(
            (acceleration_wave, speed_wave, filled_wave),
            solution.sweep([acceleration_wave, speed_wave, filled_wave], [line_speed])(line_speed.si(speeds)),
            strict=True,
        )]  # fmt: skip
        bounds = [np.broadcast_to(bound, speeds.shape) for bound in bounds]
        filled = np.where(np.isfinite(bounds[2]), bounds[2], np.nan)
        least = np.min(bounds, axis=0)
        seen, speed = solution.shown(visible_wave), solution.shown(line_speed)
        now = solution.shown(visible_share) * seen
        plot.update(
            curves={
                "acceleration": (speeds, bounds[0]), "speed": (speeds, bounds[1]), "filled": (speeds, filled),
                "least": (speeds, least), "seen": ([1, 200], [seen, seen]),
            },
            markers={"here": (speed, now)},
            alt=(
                f"Bounds of the wave over the speed of printing. At {number(speed)} mm/s the least of them is "
                f"{number(now)} mm, where {number(seen)} mm may just be seen: by the acceleration "
                f"{solution.text(acceleration_wave)}, by the jump of speed {solution.text(speed_wave)}, by what the "
                f"line fills {solution.text(filled_wave)}. No train of waves is seen up to "
                f"{solution.text(quiet_speed)}."
            ),
        )  # fmt: skip
        return plot

    return draw


def ringing_over_rail(first: Solution) -> Callable[[Solution], LivePlot]:
    """Return a graph of frequencies and safe acceleration over the height of the rail above the nozzle's tip."""
    top = max(200.0, 1.2 * first.shown(rail_height))
    rails = np.linspace(1.0, top, 100)
    figure, (left, right) = graph(columns=2, height=310)
    over = rail_height.axis("height of the rail above the tip")
    high = 1.6 * max(first.shown(slide_frequency), first.shown(lower_frequency))
    frame(left, x=over, y=lower_frequency.axis("frequency"), xlim=(0, top), ylim=(0, high))
    most = 2.2 * first.shown(highest_acceleration)
    frame(right, x=over, y=highest_acceleration.axis("safe acceleration"), xlim=(0, top), ylim=(0, most))
    plot = LivePlot(figure, alt="Ringing over the height of the rail.")
    plot.curve(left, "slide", "third", label="sliding alone")
    plot.curve(left, "lower", "main", label="lower one")
    plot.curve(left, "bound", "fourth", label="Dunkerley")
    plot.curve(right, "safe", "main")
    for axes, name in ((left, "here"), (right, "here_safe")):
        plot.marker(axes, name, "here")
    plot.legend(left, "lower right")

    def draw(solution: Solution) -> LivePlot:
        drawn = (slide_frequency, lower_frequency, dunkerley_frequency, highest_acceleration)
        found = solution.sweep(drawn, [rail_height])(rail_height.si(rails))
        slide, lower, bound, safe = (
            np.broadcast_to(q.shown(x), rails.shape) for q, x in zip(drawn, found, strict=True)
        )
        now = solution.shown(rail_height)
        plot.update(
            curves={"slide": (rails, slide), "lower": (rails, lower), "bound": (rails, bound), "safe": (rails, safe)},
            markers={
                "here": (now, solution.shown(lower_frequency)),
                "here_safe": (now, solution.shown(highest_acceleration)),
            },
            alt=(
                f"Lower frequency and safe acceleration over the height of the rail above the nozzle's tip. At "
                f"{number(now)} mm they are {solution.text(lower_frequency)} and "
                f"{solution.text(highest_acceleration)}; sliding alone would ring at "
                f"{solution.text(slide_frequency)}. The frequency is highest, {number(float(lower.max()))} Hz, with "
                f"the rail at {number(float(rails[lower.argmax()]))} mm, the safe acceleration, "
                f"{number(float(safe.max()))} mm/s², at {number(float(rails[safe.argmax()]))} mm."
            ),
        )
        return plot

    return draw


def _both_ends(solution: Solution, inputs: Sequence[Quantity], *columns: Array) -> list[Array]:
    """Return spring-back over retraction and safe acceleration, as shown, for other values of some inputs (SI)."""
    ends = (springback_over_retraction, highest_acceleration)
    found = solution.sweep(ends, inputs)(*columns)
    return [np.broadcast_to(q.shown(x), columns[0].shape) for q, x in zip(ends, found, strict=True)]


def plate_between_both(first: Solution) -> Callable[[Solution], LivePlot]:
    """Return a graph of both ends of the trade over the plate's thickness: spring-back, and safe acceleration.

    Ribs are an estimate: a strip of the plate bends as a beam so many times as stiff, and weighs so many times as much.
    """
    thickness = np.linspace(0.5, 12.0, 93)
    figure, (left, right) = graph(columns=2, height=310)
    over = plate_thickness.axis("thickness of the plate")
    thin, *_ = first.sweep([springback_over_retraction], [plate_thickness])(np.array([2e-3]))
    frame(
        left, x=over, y="spring-back over retraction", xlim=(0, 12), ylim=(0, max(0.8, 1.2 * float(np.ravel(thin)[0])))
    )
    most = 1.3 * first.shown(highest_acceleration)
    frame(right, x=over, y=highest_acceleration.axis("safe acceleration"), xlim=(0, 12), ylim=(0, most))
    plot = LivePlot(figure, alt="Blobs and ringing over the thickness of the plate.")
    plot.curve(left, "blob", "main", label="this plate")
    plot.curve(left, "limit", "limit", label="limit")
    plot.curve(left, "blob_ribs", "second", label="with two ribs")
    plot.curve(right, "safe", "main", label="this plate")
    plot.curve(right, "safe_ribs", "second", label="with two ribs")
    plot.curve(right, "weightless", "third", label="if it weighed nothing")
    for axes, name in ((left, "here"), (right, "here_safe")):
        plot.marker(axes, name, "here")
    plot.legend(left, "upper right")
    plot.legend(right, "lower left")

    def draw(solution: Solution) -> LivePlot:
        blob, safe = _both_ends(solution, [plate_thickness], plate_thickness.si(thickness))
        none = float(_both_ends(solution, [plate_mass], np.array([1e-9]))[1][0])
        now, wide = solution.shown(plate_thickness), strip_width(solution)
        tried = np.append(thickness, now)
        stiffer, heavier = np.transpose([stiffness_and_mass("two ribs", wide, thick) for thick in tried])
        blob_ribs, safe_ribs = _both_ends(
            solution,
            [plate_thickness, plate_youngs_modulus, plate_density],
            plate_thickness.si(tried),
            stiffer * solution[plate_youngs_modulus],
            heavier * solution[plate_density],
        )
        plot.update(
            curves={
                "blob": (thickness, blob), "limit": ([0, 12], [BLOB_LIMIT, BLOB_LIMIT]), "safe": (thickness, safe),
                "blob_ribs": (thickness, blob_ribs[:-1]), "safe_ribs": (thickness, safe_ribs[:-1]),
                "weightless": ([0, 12], [none, none]),
            },
            markers={
                "here": (now, solution.shown(springback_over_retraction)),
                "here_safe": (now, solution.shown(highest_acceleration)),
            },
            alt=(
                f"Spring-back over retraction and safe acceleration over the thickness of the plate. At {number(now)} "
                f"mm the plate has {solution.text(plate_mass)}, {solution.text(plate_mass_share)} of "
                f"{solution.text(head_mass)}; the spring-back is {solution.text(springback_over_retraction)} of the "
                f"retraction and the safe acceleration {solution.text(highest_acceleration)}, with a weightless plate "
                f"{number(none)} mm/s². Two ribs would make it about {number(stiffer[-1], 2)} times as stiff and "
                f"{number(heavier[-1], 2)} times as heavy: spring-back {number(blob_ribs[-1], 2)}, safe acceleration "
                f"{number(safe_ribs[-1], 3)} mm/s². From 2 to 12 mm the spring-back falls to "
                f"{number(float(blob[-1] / np.interp(2.0, thickness, blob)), 2)} and the safe acceleration to "
                f"{number(float(safe[-1] / np.interp(2.0, thickness, safe)), 2)} of what it was."
            ),
        )  # fmt: skip
        return plot

    return draw
