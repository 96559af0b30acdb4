"""The equations of three bodies along the head, solved by SciPy's collocation: what the slices are held against."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from augerbook.chapters.heat.grid import Head
from augerbook.chapters.heat.models import Temperatures
from scipy.integrate import quad, solve_bvp
from scipy.optimize import brentq


@dataclass
class Reference:
    """What solve_bvp finds, in SI."""

    softened_length: float
    screw_soft_length: float
    tip_temperature: float
    screw_at_throat: float
    block_heat: float


def pieces(h: Head) -> list[tuple[float, float, float, float]]:
    """Cut the tube at its thermal break: start, end, conductivity times section, film times circumference of each."""
    plain = (h.tube_conductivity * h.tube_section, h.cooler_film * math.pi * h.tube_outside_diameter)
    broken = (h.break_conductivity * h.break_section, h.cooler_film * math.pi * h.break_outside_diameter)
    start, end = h.break_start, h.break_start + h.break_length
    if start == end:
        return [(0.0, h.tube_length, *plain)]
    return [(0.0, start, *plain), (start, end, *broken), (end, h.tube_length, *plain)]


def reference(h: Head, first: Temperatures, tolerance: float = 1e-6, nodes: int = 121) -> Reference:
    """Solve the governing equations without friction heat and with one film all along, by collocation.

    Each piece of the tube and the block are mapped to 0..1: temperatures and heat along screw, plastic and tube in each
    piece, along screw and plastic in the block. ``first`` is the guess to start from.
    """
    screw_path, tube = h.screw_conductivity * h.screw_section, pieces(h)
    count = len(tube)

    def conductivity(t: Any) -> Any:
        return h.loose_conductivity + (h.fused_conductivity - h.loose_conductivity) / (
            1 + np.exp(-(t - h.softening_temperature) / 4.0)
        )

    def slopes(x: Any, y: Any) -> Any:
        found = []
        for number, (start, end, path, around) in enumerate(tube):
            screw, q_s, plastic, q_p, wall, q_t = y[6 * number : 6 * number + 6]
            k = conductivity(plastic)
            d_p, s, w = (
                q_p / (k * h.plastic_section),
                h.screw_shell * k * (screw - plastic),
                h.wall_shell * k * (wall - plastic),
            )
            part = [q_s / screw_path, s, d_p, h.feed_heat * d_p - s - w, q_t / path,
                    w + around * (wall - h.room_temperature)]  # fmt: skip
            found.append(np.array(part) * (end - start))
        screw, q_s, plastic, q_p = y[6 * count :]
        k = conductivity(plastic)
        d_p = q_p / (k * h.plastic_section)
        s, w = h.screw_shell * k * (screw - plastic), h.wall_shell * k * (h.set_temperature - plastic)
        found.append(np.array([q_s / screw_path, s, d_p, h.feed_heat * d_p - s - w]) * h.heated_length)
        return np.vstack(found)

    def ends(a: Any, b: Any) -> Any:
        shank = screw_path / h.shank_length * (a[0] - h.drive_temperature)
        last = 6 * (count - 1)
        joints = [a[6 * n + 6 + m] - b[6 * n + m] for n in range(count - 1) for m in range(6)]
        joints += [a[6 * count + m] - b[last + m] for m in range(4)]
        at_ends = [a[1] - shank, a[2] - h.throat_temperature, a[5], b[last + 4] - h.set_temperature]
        return np.array([*at_ends, *joints, b[6 * count + 1], b[6 * count + 3]])

    x = np.linspace(0, 1, nodes)
    guess = []
    for start, end, path, _ in (*tube, (h.tube_length, h.tube_length + h.heated_length, 0.0, 0.0)):
        z = start + x * (end - start)
        bodies = [(first.screw, screw_path), (first.plastic, 0.1 * h.plastic_section)]
        if path:
            bodies.append((first.tube, path))
        for values, through in bodies:
            t = np.interp(z, first.place[0], values[0])
            guess += [t, through * np.gradient(t, z)]
    found = solve_bvp(slopes, ends, x, np.array(guess), tol=tolerance, max_nodes=40000)
    assert found.success, found.message

    def soft(row: int) -> float:
        if found.sol(0)[row] >= h.softening_temperature:
            return float(h.tube_length)
        for number, (start, end, _, _) in enumerate(tube):

            def above(u: float, at: int = 6 * number + row) -> float:
                return float(found.sol(u)[at] - h.softening_temperature)

            if above(1) >= 0:
                return float(h.tube_length - start - (end - start) * brentq(above, 0, 1))
        return 0.0

    in_block = 6 * count + 2

    def wall_heat(u: float) -> float:
        t = float(found.sol(u)[in_block])
        return float(h.wall_shell * conductivity(t) * (h.set_temperature - t))

    into_melt = h.heated_length * quad(wall_heat, 0, 1, limit=200)[0]
    at_tip, at_throat = found.sol(1), found.sol(0)
    into_tube = float(at_tip[6 * count - 1])
    return Reference(soft(2), soft(0), float(at_tip[in_block]), float(at_throat[0]), into_tube + into_melt)
