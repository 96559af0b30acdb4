"""The temperatures along the head, against a dense matrix filled in a loop and against SciPy's boundary value solver.

    nice python tests/bench/heat.py

The same equations three ways, in one run, for the same heads: conductivity that switches where the plastic softens,
one film along the tube, no friction (so that all three can solve it). The dense way uses the same slices, and goes
round until no temperature moves by a thousandth of a kelvin, far less than the slices are off. The boundary value
solver chooses its own, starts from the same guess, and gets the loosest tolerance with which it is as exact. Prints
milliseconds for one head (the shortest of several calls, one thread), the error of the softened lengths, and ratios;
then many heads in one call.
"""

from __future__ import annotations

import itertools
import os
import sys
from collections.abc import Callable
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.heat import HEAD_INPUTS
from augerbook.chapters.heat.grid import BLOCK_SLICES, TUBE_SLICES, Array, Grid, Head, fused_share
from augerbook.chapters.heat.models import Temperatures, outcome, running, temperatures

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.bench.shortest import shortest
from tests.chapters.heat_bvp import reference

MANY, REPEATS = 1024, 9
#: When the dense way stops (K).
ENOUGH = 1e-3


def dense(h: Head) -> Temperatures:
    """Fill a dense matrix slice by slice, solve it, and go round until the temperatures stay the same."""
    tubes, count = TUBE_SLICES, TUBE_SLICES + BLOCK_SLICES
    width = [h.tube_length / tubes] * tubes + [h.heated_length / BLOCK_SLICES] * BLOCK_SLICES
    edges = np.concatenate([[0.0], np.cumsum(width)])
    place = (edges[1:] + edges[:-1]) / 2
    grid = Grid(h)
    plastic = grid.guess()[0, :, 1]

    def between(g: float) -> float:
        y = h.feed_heat / g
        return g if y < 1e-8 else h.feed_heat / np.expm1(min(y, 500.0))

    for _ in range(200):
        k = h.loose_conductivity + (h.fused_conductivity - h.loose_conductivity) * fused_share(
            plastic, h.softening_temperature
        )
        a, b = np.zeros((3 * count, 3 * count)), np.zeros(3 * count)
        for i in range(count):
            s, p, t = 3 * i, 3 * i + 1, 3 * i + 2
            for metal, conductance in ((s, h.screw_shell * k[i] * width[i]), (t, h.wall_shell * k[i] * width[i])):
                a[p, p] += conductance
                a[p, metal] -= conductance
                if metal == s or i < tubes:
                    a[metal, metal] += conductance
                    a[metal, p] -= conductance
            if i + 1 < count:
                apart = place[i + 1] - place[i]
                g = h.screw_conductivity * h.screw_section / apart
                for one, other in ((s, s + 3), (s + 3, s)):
                    a[one, one] += g
                    a[one, other] -= g
                ahead = between(h.plastic_section * (k[i] + k[i + 1]) / 2 / apart)
                a[p, p] += ahead + h.feed_heat
                a[p, p + 3] -= ahead
                a[p + 3, p] -= ahead + h.feed_heat
                a[p + 3, p + 3] += ahead
                if i + 1 < tubes:
                    g = h.tube_conductivity * h.tube_section / apart
                    for one, other in ((t, t + 3), (t + 3, t)):
                        a[one, one] += g
                        a[one, other] -= g
            if i < tubes:
                g = h.cooler_film * np.pi * h.tube_outside_diameter * width[i]
                a[t, t] += g
                b[t] += g * h.room_temperature
            else:
                a[t, t], b[t] = 1.0, h.set_temperature
        shank = h.screw_conductivity * h.screw_section / (h.shank_length + width[0] / 2)
        a[0, 0] += shank
        b[0] += shank * h.drive_temperature
        ahead = between(h.plastic_section * k[0] / (width[0] / 2))
        a[1, 1] += ahead
        b[1] += (ahead + h.feed_heat) * h.throat_temperature
        a[3 * count - 2, 3 * count - 2] += h.feed_heat
        end = h.tube_conductivity * h.tube_section / (width[0] / 2)
        a[3 * tubes - 1, 3 * tubes - 1] += end
        b[3 * tubes - 1] += end * h.set_temperature
        solved = np.linalg.solve(a, b).reshape(count, 3)
        moved = np.abs(solved[:, 1] - plastic).max()
        plastic = solved[:, 1]
        if moved <= ENOUGH:
            break
    flat = np.full(1, np.nan)
    bodies = (solved[None, :, body] for body in range(3))
    return Temperatures(place[None], np.array([width]), *bodies, flat, flat, flat, flat, np.array([moved]))


def shortest_ms(function: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the shortest time of a call in milliseconds."""
    return 1e3 * shortest(function, repeats)


def many_heads(h: Head, cells: int) -> Callable[[], object]:
    """Return a call that computes many heads, others each time: what was computed before is remembered."""
    table = [np.full(MANY, float(v)) for v in h]
    films = (np.linspace(50.0, 1000.0 + call, MANY) for call in itertools.count())

    def computed() -> object:
        table[Head._fields.index("cooler_film")] = next(films)
        return running(*table, cells=cells)

    return computed


def lengths(h: Head, found: Temperatures) -> Array:
    """Return both softened lengths (mm)."""
    got = outcome(h, found)
    return 1e3 * np.array([got.softened_length[0], got.screw_soft_length[0]])


def main() -> None:
    """Measure all ways and print the ratios."""
    for name in ("otter", "wren"):
        solution = shipped_build(name).solution
        h = Head(*(solution[q] for q in HEAD_INPUTS))
        h = h._replace(friction_heat=0.0, cooler_start=0.0, cooler_end=h.tube_length)
        finest = lengths(h, temperatures(h, 16 * TUBE_SLICES, 16 * BLOCK_SLICES))
        ours = lengths(h, temperatures(h))
        error = np.abs(ours - finest).max()
        same = lengths(h, dense(h))
        assert np.abs(same - ours).max() < 1e-3, "the dense way solves another system"
        guess = Grid(h)
        bodies = (guess.guess()[:, :, body] for body in range(3))
        nothing = np.zeros(1)
        first = Temperatures(guess.place, guess.width, *bodies, nothing, nothing, nothing, nothing, nothing)
        for tolerance in (1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6):
            exact = reference(h, first, tolerance, 21)
            bvp_error = np.abs(1e3 * np.array([exact.softened_length, exact.screw_soft_length]) - finest).max()
            if bvp_error <= error:
                break
        one, by_loop = shortest_ms(lambda h=h: temperatures(h)), shortest_ms(lambda h=h: dense(h))
        by_bvp = shortest_ms(lambda h=h, first=first, t=tolerance: reference(h, first, t, 21), 3)
        each, half = (shortest_ms(many_heads(h, cells), 3) / MANY for cells in (TUBE_SLICES, TUBE_SLICES // 2))
        print(f"{name}: banded Newton {one:.2f} ms, error {error:.4f} mm")
        print(f"  dense, in a loop {by_loop:.0f} ms, the same error: ratio {by_loop / one:.0f}")
        print(f"  solve_bvp {by_bvp:.0f} ms, error {bvp_error:.4f} mm: ratio {by_bvp / one:.0f}")
        print(f"  {MANY} heads in one call: {each:.3f} ms each, with half of the slices {half:.3f} ms")


if __name__ == "__main__":
    main()
