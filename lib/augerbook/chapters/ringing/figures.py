"""Figures of the chapter: a record with the sine that fits it, and what equally stiff plates weigh."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.ringing.decay import fit_of
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.carriage import decay_record

Array = NDArray[np.float64]

_TIME, _ = decay_record.columns


def draw_decay(columns: tuple[Array, Array], words: str = "reading") -> LivePlot:
    """Draw a record, the damped sine fitted to it, and the envelope of that.

    Args:
        columns: time in s and readings in any one unit.
        words: what the readings are, with their unit.
    """
    fit = fit_of(columns)
    time, reading = columns
    fine = np.linspace(time[0], time[-1], 400)
    high = 1.15 * max(fit.amplitude, float(np.abs(reading - fit.rest(time)).max()))
    ends = fit.rest(time[[0, -1]])
    figure, (axes,) = graph(height=300)
    frame(
        axes,
        x=_TIME.axis("time"),
        y=words,
        xlim=(_TIME.shown(time[0]), _TIME.shown(time[-1])),
        ylim=(float(ends.min()) - high, float(ends.max()) + high),
    )
    plot = LivePlot(
        figure,
        alt=f"A record of {len(time)} readings over {_TIME.text(float(np.ptp(time)))}. The damped sine that fits "
        f"them has {number(fit.frequency, 4)} Hz (standard deviation {number(fit.frequency_error, 1)} Hz) and a "
        f"damping ratio of {number(fit.damping)} ({number(fit.damping_error, 1)}); the readings scatter about it by "
        f"{number(fit.noise, 2)}, where the first crest is {number(fit.amplitude)} high.",
    )
    plot.curve(axes, "upper", "limit", label="envelope")
    plot.curve(axes, "lower", "limit")
    plot.curve(axes, "fit", "main", label="damped sine")
    plot.marker(axes, "readings", "measured", label="readings")
    plot.legend(axes, "upper right", columns=3)
    envelope = fit.envelope(fine)
    plot.update(
        curves={
            "fit": (_TIME.shown(fine), fit.reading(fine)),
            "upper": (_TIME.shown(fine), fit.rest(fine) + envelope),
            "lower": (_TIME.shown(fine), fit.rest(fine) - envelope),
        },
        markers={"readings": (_TIME.shown(time), reading)},
    )
    return plot


def draw_equal_stiffness(masses: Mapping[str, float], title: str) -> Scene:
    """Draw what equally stiff plates weigh as bars to one scale, one below the other.

    Args:
        masses: in g, under what each plate is.
        title: above them.
    """
    row, left, long = 34.0, 300.0, 400.0
    high = row * len(masses) + 16
    largest = max(masses.values())
    told = "; ".join(f"{words} {number(mass)} g" for words, mass in masses.items())
    scene = Scene(width=800, height=high, title=title, alt=f"{title}, as bars to one scale: {told}.")
    styles = ("plate", "metal", "wall", "void", "bearing", "plastic")
    for place, (words, mass) in enumerate(masses.items()):
        y = high - row * (place + 1)
        scene.rectangle((left, y), long * mass / largest, 0.66 * row, styles[place % len(styles)])
        scene.label((left - 10, y + 0.33 * row), words, anchor="end")
        scene.label((left + long * mass / largest + 10, y + 0.33 * row), f"{number(mass)} g", anchor="start")
    return scene
