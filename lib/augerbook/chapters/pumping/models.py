"""Melt about a screw in a wide bore: averages of the gap over one pitch, and the screw where it really lies.

The film between wall and screw is unwrapped into a plane. Everywhere it is taken as locally flat (lubrication), and the
gap is averaged over one period: along the groove the sections work side by side, across it one after the other. A screw
out of centre is a ring of such sectors, joined by the pressure that builds up round the bore. Everything is divided by
viscosity and speed, so that only lengths remain.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import zeta

from augerbook.chapters.pumping.helix import Factors, helix_factors

Array = NDArray[np.float64]

#: Terms of the series for the side walls: exact to 1e-8 in channels up to twenty times deeper than wide.
_ODD = np.arange(1.0, 121.0, 2.0)
#: Sectors over half of the bore (the other half is its mirror image). The tests double them.
SECTORS = 32
#: A screw is never counted as closer to the wall than this share of its tip gap: a film of melt stays.
THINNEST_FILM = 0.02


class GapMeans(NamedTuple):
    """Averages over one pitch of powers of the gap H between screw and wall (m to that power)."""

    first: Any
    cube: Any
    inverse: Any
    inverse_square: Any
    inverse_cube: Any


class Groove(NamedTuple):
    """What one pitch of a gap does, in lengths; along the groove and across it.

    Attributes:
        drag_along, drag_across: flow for each width and each wall speed in that direction (m).
        back_along, back_across: flow back for each width, times viscosity over pressure gradient (m**3).
        shear_along, shear_across: mean shear rate on the wall over wall speed, in that direction (1/m).
    """

    drag_along: Any
    drag_across: Any
    back_along: Any
    back_across: Any
    shear_along: Any
    shear_across: Any


def shape_factors(width: Any, depth: Any) -> tuple[Array, Array]:
    """Return what side walls leave of drag flow and pressure flow in a rectangular channel (plain numbers).

    The wall that moves covers the channel; ``width`` and ``depth`` in one unit, arrays of one shape. Solutions of
    Laplace's and Poisson's equation by separation of variables, with the tail of each series summed exactly.
    """
    slender = np.asarray(width, dtype=np.float64) / np.asarray(depth, dtype=np.float64)
    # 1 - tanh(x / 2) is 2 / (1 + exp(x)); far out it is nothing.
    short = 2.0 / (1.0 + np.exp(np.minimum(np.multiply.outer(slender, np.pi * _ODD), 700.0)))
    drag = 7.0 / 8.0 * zeta(3.0) - (short / _ODD**3).sum(axis=-1)
    pressure = 31.0 / 32.0 * zeta(5.0) - (short / _ODD**5).sum(axis=-1)
    return 1.0 - 16.0 / np.pi**3 * drag / slender, 1.0 - 192.0 / np.pi**5 * pressure / slender


def gap_means(tip: Any, core: Any, crest: Any, root: Any, pitch: Any) -> GapMeans:
    """Return the averages of a gap that is ``tip`` over the crest, ``core`` over the floor and straight between.

    Lengths in m, broadcast together. Where the flanks of neighbours meet above the core, the gap goes as deep as they
    do. The integrals over a flank are written so that a flight without depth divides nothing by zero.
    """
    foot = np.minimum(root, pitch)
    meet = np.asarray(root) > pitch
    reach = np.where(meet, (pitch - crest) / np.where(meet, root - crest, 1.0), 1.0)
    deep = tip + (core - tip) * reach
    crest_share, flank, floor = crest / pitch, (foot - crest) / pitch, 1.0 - foot / pitch
    both, product = tip + deep, tip * deep
    ratio = deep / tip
    # (ln x) / (x - 1) without the hole at one
    near = np.abs(ratio - 1.0) < 1e-9
    slope = np.where(near, 1.0, np.log(ratio) / np.where(near, 1.0, ratio - 1.0))
    return GapMeans(
        crest_share * tip + flank * both / 2.0 + floor * deep,
        crest_share * tip**3 + flank * both * (tip**2 + deep**2) / 4.0 + floor * deep**3,
        crest_share / tip + flank * slope / tip + floor / deep,
        crest_share / tip**2 + flank / product + floor / deep**2,
        crest_share / tip**3 + flank * both / (2.0 * product**2) + floor / deep**3,
    )


def groove(means: GapMeans) -> Groove:
    """Return what a gap with these averages does: in parallel along the groove, in series across it."""
    drag_across = means.inverse_square / (2.0 * means.inverse_cube)
    return Groove(
        means.first / 2.0,
        drag_across,
        means.cube / 12.0,
        1.0 / (12.0 * means.inverse_cube),
        means.inverse,
        4.0 * means.inverse - 6.0 * drag_across * means.inverse_square,
    )


class Screw(NamedTuple):
    """What a screw out of centre does: m**4, a plain number, and for both ways of lying m**3 and m**2.

    Leaning: its axis stays beside that of the bore. Bent: the offset turns with the screw. Last, the share of the
    pressure's change that the wall holds (a plain number) and the wall's pull along the axis for each torque (1/m);
    both for sectors side by side, without what passes between them round the bore.
    """

    back_conductance: Any
    crossing_share: Any
    drag_leaning: Any
    drag_bent: Any
    wall_leaning: Any
    wall_bent: Any
    wall_share: Any
    axial_drag: Any


def screw_in_bore(
    bore: Any, tip: Any, core: Any, crest: Any, root: Any, pitch: Any, radius: Any, angle: Any, eccentricity: Any,
    *, sectors: int = SECTORS, flat: bool = False,
) -> Screw:  # fmt: skip
    """Return what flows back, what share of it crosses the flights, what a turn drags ahead, and what the wall feels.

    Lengths in m, ``angle`` of the groove in rad, ``radius`` of the circle on which the melt is unwrapped,
    ``eccentricity`` over the tip gap; all broadcast together. With ``flat`` the film counts as flat everywhere, as in
    the quick formulas; else it is what finite elements find on the helix.
    """
    given = (bore, tip, core, crest, root, pitch, radius, angle, eccentricity)
    shape = np.broadcast_shapes(*(np.shape(value) for value in given))
    turn = (np.arange(sectors) + 0.5) * np.pi / sectors
    off = np.multiply.outer(np.cos(turn), np.broadcast_to(np.minimum(eccentricity, 1.0 - THINNEST_FILM) * tip, shape))
    means = gap_means(tip + off, core + off, crest, root, pitch)
    part = groove(means)
    sine, cosine = np.sin(angle), np.cos(angle)
    # Each sector sees whole periods of a screw with its own gap; what the helix makes of them is in the table.
    real = Factors(1.0, 1.0, 1.0)
    if not flat:
        depth = np.subtract(core, tip)
        # Without a flight there is no flank, and its slope does not matter.
        steep = np.subtract(root, crest) / np.where(depth > 0, 2.0 * depth, 1.0)
        real = helix_factors(tip + off, depth, pitch, np.arctan(steep), np.divide(bore, 2.0))
    drag = sine * cosine * (part.drag_along - part.drag_across) * real.drag
    flat_back = part.back_along * sine**2 + part.back_across * cosine**2
    flat_shear = part.shear_along * cosine**2 + part.shear_across * sine**2
    back, shear = flat_back * real.back, flat_shear * real.torque
    # Round the bore each sector drags and lets through something else; the pressure there makes all pass alike.
    drag_round = part.drag_along * cosine**2 + part.drag_across * sine**2
    back_round = part.back_along * cosine**2 + part.back_across * sine**2
    skew = sine * cosine * (part.back_along - part.back_across)
    resistance = (1.0 / back_round).mean(axis=0)

    def slope(passing: Array) -> Array:
        """Pressure gradient round the bore that lets the same flow pass every sector."""
        result: Array = (passing - (passing / back_round).mean(axis=0) / resistance) / back_round
        return result

    # Seen from the screw, the place of the narrow gap moves on when the offset does not turn with it.
    bent, leaning = slope(drag_round), -slope(means.first - drag_round)
    around = 2.0 * np.pi * radius
    # Melt is dragged with the wall's own speed; a torque passes every ring alike and is counted in the middle one.
    per_turn, per_torque = around * np.pi * bore, around * radius**2
    whole = (back - skew * slope(skew)).mean(axis=0)
    results = (
        around * whole,
        (part.back_across * cosine**2).mean(axis=0) / flat_back.mean(axis=0),
        per_turn * (drag - skew * leaning).mean(axis=0),
        per_turn * (drag - skew * bent).mean(axis=0),
        per_torque * (shear - (means.first - drag_round) * leaning).mean(axis=0),
        per_torque * (shear + drag_round * bent).mean(axis=0),
        (part.drag_along * sine**2 + part.drag_across * cosine**2).mean(axis=0) / means.first.mean(axis=0),
        sine * cosine * (part.shear_across - part.shear_along).mean(axis=0) / (radius * flat_shear.mean(axis=0)),
    )
    return Screw(*(np.asarray(value)[()] for value in results))


def axial_velocity(part: Groove, angle: float, push: float, gap: Array, height: Array) -> Array:
    """Return the melt's axial velocity over the wall's speed, at heights above the screw, for a centred screw.

    ``gap`` (n,) is the gap at n places along the pitch, ``height`` (m,) the share of it above the screw, 0 to 1.
    ``push`` is the axial pressure gradient over viscosity and wall speed (1/m**2). Returns (n, m).
    """
    sine, cosine = np.sin(angle), np.cos(angle)
    slope_along = push * sine
    flow_across = -sine * part.drag_across - push * cosine * part.back_across
    slope_across = (12.0 * (-sine * gap / 2.0 - flow_across) / gap**3)[:, None]
    bulge = height * (1.0 - height) * gap[:, None] ** 2 / 2.0
    along = cosine * height - slope_along * bulge
    across = -sine * height - slope_across * bulge
    result: Array = along * sine + across * cosine
    return result
