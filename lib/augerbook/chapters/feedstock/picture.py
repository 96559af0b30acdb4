"""Two pictures of the feedstock: a grain cut through with the water in it, and the loop of grinder and sieves."""

from __future__ import annotations

import numpy as np

from augerbook.chapters.feedstock import (
    circulating_load,
    diffusion_time,
    drying_time_needed,
    dust_made,
    fourier_number,
    moisture_air,
    moisture_dried,
    scrap_needed,
    yield_per_pass,
)
from augerbook.chapters.feedstock.models import profile_in_ball, profile_in_flake
from augerbook.chapters.grains import largest_grain
from augerbook.core.network import Solution
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.feedstock import (
    FLAKE,
    batch_mass,
    coarse_share,
    drying_time,
    dust_share,
    flake_thickness,
    grain_shape,
    moisture_limit,
    moisture_start,
)

#: Picture units: the grain is drawn this wide, whatever its size; the profile beside it on the same scale.
_GRAIN, _HIGH, _FLOOR = 230.0, 190.0, 62.0
_SECTION_X, _PROFILE_X, _HEIGHT = 170.0, 470.0, 330.0
#: Parts of the drying time at which the water is shown as well, fainter.
_EARLIER = (1 / 64, 1 / 16, 1 / 4)


def draw_grain(solution: Solution) -> Scene:
    """Draw a grain to scale, where it is wetter than the limit, and the water along a line through its middle."""
    flake = solution.choices[grain_shape] == FLAKE
    width = flake_thickness if flake else largest_grain
    size = solution.shown(width)
    start, air, limit = solution[moisture_start], solution[moisture_air], solution[moisture_limit]
    place = np.linspace(-1, 1, 161)
    profile = profile_in_flake if flake else profile_in_ball
    now, *earlier = (air + (start - air) * profile(place, part * solution[fourier_number]) for part in (1, *_EARLIER))
    unit = size / _GRAIN  # millimetres in a picture unit
    kind = "flake" if flake else "ball"
    scene = Scene(
        width=800 * unit,
        height=_HEIGHT * unit,
        title=f"Water in a {kind} after {solution.text(drying_time)} of drying",
        alt=_grain_in_words(solution, kind, size, now.max()),
    )
    _section(scene, flake, unit, place[now > limit], f"{size:.3g} mm")
    x, high = unit * (_PROFILE_X + _GRAIN / 2 * place), unit * (_FLOOR + _HIGH * now / start)
    floor = np.array([[x[-1], unit * _FLOOR], [x[0], unit * _FLOOR]])
    scene.polygon(np.vstack([np.column_stack([x, high]), floor]), "band")
    for water in earlier:
        scene.path(np.column_stack([x, unit * (_FLOOR + _HIGH * water / start)]), "faint")
    scene.path(np.column_stack([x, high]), "main")
    ends = unit * np.array([_PROFILE_X - _GRAIN / 2, _PROFILE_X + _GRAIN / 2])
    scene.line((ends[0], unit * _FLOOR), (ends[1], unit * _FLOOR), "outline")
    top = unit * (_FLOOR + _HIGH)
    scene.line((ends[0], top), (ends[1], top), "ghost")
    scene.label((ends[1] + 10 * unit, top), f"before: {solution.text(moisture_start)}", "start", "small")
    scene.label((unit * _PROFILE_X, unit * (_FLOOR - 20)), "water across the grain, now and earlier", style="small")
    scene.label((unit * _PROFILE_X, unit * (_FLOOR - 38)), f"mean {solution.text(moisture_dried)}", style="strong")
    if limit <= start:
        level = unit * (_FLOOR + _HIGH * limit / start)
        scene.line((ends[0], level), (ends[1], level), "limit")
        scene.label(
            (ends[1] + 10 * unit, min(level, top - 18 * unit)),
            f"limit: {solution.text(moisture_limit)}",
            "start",
            "small",
        )
    needed = f"half of the limit\nafter {solution.text(drying_time_needed, digits=2)}"
    if np.isinf(solution[drying_time_needed]):
        needed = "half of the limit:\nnever in this air"
    scene.label((ends[1] + 34 * unit, unit * (_FLOOR - 30)), needed, "start", "small")
    return scene


def _grain_in_words(solution: Solution, kind: str, size: float, most: float) -> str:
    wettest = moisture_start.text(most, digits=2)
    return (
        f"A {kind} {size:.3g} mm thick, to scale. After {solution.text(drying_time)} of drying it holds "
        f"{solution.text(moisture_dried)} of water on average, most of it in the middle ({wettest}) and "
        f"{solution.text(moisture_air)} at the surface. Before it was {solution.text(moisture_start)}; the "
        f"limit is {solution.text(moisture_limit)}."
    )


def _section(scene: Scene, flake: bool, unit: float, wet: np.ndarray, size: str) -> None:
    half, middle = _GRAIN / 2 * unit, np.array([_SECTION_X, _FLOOR + _GRAIN / 2 - 14]) * unit
    reach = float(wet.max()) * half if len(wet) else 0.0
    turn = np.linspace(0, 2 * np.pi, 97)
    round_about = np.column_stack([np.cos(turn), np.sin(turn)])
    box = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    if flake:
        scene.rectangle((middle[0] - half, middle[1] - half), 2 * half, 2 * half, "grain")
    else:
        scene.circle(middle, half, "grain")
    if reach > 0:
        shape = box * np.array([reach, half]) if flake else round_about * reach
        scene.polygon(middle + shape, "soft")
    words = "wetter than\nthe limit" if reach > 0.25 * half else "drier than the limit" if reach == 0 else ""
    if words:
        scene.label(middle, words)
    low = middle[1] - half
    scene.dimension((middle[0] - half, low), (middle[0] + half, low), size, offset=-22 * unit)


# -- the loop of the grinder -------------------------------------------------------------------------

#: Picture units: what passes the grinder is this high; everything else is in proportion to its mass.
_FLOW, _BASE, _GRINDER, _UPPER, _LOWER, _OUT = 130.0, 84.0, 268.0, 424.0, 592.0, 672.0


def draw_loop(solution: Solution) -> Scene:
    """Draw grinder, upper and lower sieve with streams as wide as their mass."""
    back, dust = solution[coarse_share], solution[dust_share]
    good = max(0.0, solution[yield_per_pass])
    fits = max(1.0, back + dust)
    w_back, w_dust, w_good = _FLOW * back / fits, _FLOW * dust / fits, _FLOW * good / fits
    w_rest = _FLOW - w_back
    top = _BASE + _FLOW + 46
    scene = Scene(
        width=800,
        height=top + w_back + 44,
        title="Through the grinder and round again, streams as wide as their mass",
        alt=_loop_in_words(solution, good),
    )
    left = _GRINDER - 74 - w_back
    if w_back > 0.5:
        joint = _BASE + w_rest
        loop = [
            (_UPPER, joint), (_UPPER + w_back, joint), (_UPPER + w_back, top + w_back), (left, top + w_back),
            (left, joint), (_GRINDER, joint), (_GRINDER, joint + w_back), (left + w_back, joint + w_back),
            (left + w_back, top), (_UPPER, top),
        ]  # fmt: skip
        scene.polygon(loop, "soft")
        scene.arrow((_UPPER - 20, top + w_back / 2), (left + w_back + 20, top + w_back / 2), "motion")
    scene.rectangle((70, _BASE), _GRINDER - 70, w_rest, "plastic")
    scene.rectangle((_GRINDER, _BASE), _UPPER - _GRINDER + w_back, _FLOW, "plastic")
    if w_back > 0.5:
        scene.rectangle((_UPPER, _BASE + w_rest), w_back, w_back, "soft")
    scene.rectangle((_UPPER, _BASE), _LOWER - _UPPER, w_rest, "plastic")
    scene.rectangle((_LOWER, _BASE + w_dust), _OUT - _LOWER, w_good, "grain")
    if w_dust > 0.5:
        scene.polygon([(_LOWER, _BASE + w_dust), (_LOWER + w_dust, _BASE + w_dust), (_LOWER + w_dust, 44),
                       (_LOWER, 44)], "void")  # fmt: skip
    scene.arrow((96, _BASE + w_rest / 2), (_GRINDER - 20, _BASE + w_rest / 2), "motion")
    scene.rectangle((_GRINDER, _BASE - 10), 84, _FLOW + 20, "metal")
    scene.label((_GRINDER + 42, _BASE + _FLOW / 2), "grinder", style="strong")
    for x, high, name in ((_UPPER, _FLOW, "upper sieve"), (_LOWER, w_rest, "lower sieve")):
        scene.line((x, _BASE - 8), (x, _BASE + high + 8), "heavy")
        scene.label((x - 6, _BASE - 24), name, "end", "small")
    _masses(scene, solution, good, top + w_back, w_rest, w_dust, w_good)
    return scene


def _masses(
    scene: Scene, solution: Solution, good: float, top: float, w_rest: float, w_dust: float, w_good: float
) -> None:
    wanted = solution.text(batch_mass)
    scrap, dust = ((solution.text(q) if good > 0 else "unlimited") for q in (scrap_needed, dust_made))
    scene.label((64, _BASE + w_rest / 2), f"scrap\n{scrap}", "end", "small")
    product = f"granules\n{wanted if good > 0 else 'none'}"
    scene.label((_OUT + 8, _BASE + w_dust + w_good / 2), product, "start", "strong")
    scene.label((_LOWER + w_dust / 2, 24), f"dust {dust}", style="small")
    load = solution.text(circulating_load, digits=2)
    scene.label((_GRINDER + 42, top + 16), f"too coarse, round again: {load} of the scrap", style="small")


def _loop_in_words(solution: Solution, good: float) -> str:
    if good <= 0:
        return "Grinder and sieves: all of it stays on the upper sieve or falls through the lower one; no granules."
    return (
        f"Streams of scrap through a grinder and two sieves, as wide as their mass: {solution.text(scrap_needed)} of "
        f"scrap give {solution.text(batch_mass)} of granules and {solution.text(dust_made)} of dust; what stays on "
        f"the upper sieve goes round again, {solution.text(circulating_load)} of the scrap in all."
    )


PICTURES = (
    Picture(
        "Water in a grain",
        needs=(
            diffusion_time,
            drying_time,
            drying_time_needed,
            fourier_number,
            largest_grain,
            moisture_air,
            moisture_dried,
            moisture_limit,
            moisture_start,
        ),
        draw=draw_grain,
    ),
    Picture(
        "The loop of the grinder",
        needs=(batch_mass, circulating_load, coarse_share, dust_made, dust_share, scrap_needed, yield_per_pass),
        draw=draw_loop,
    ),
)
