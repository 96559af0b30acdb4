"""Pumping melt: what a screw with a wide gap in its bore drags ahead, what flows back, and what it can press.

The classical shallow channel has closed forms; its side walls need two series. The screw with an open gap over its
tips, out of centre as it really lies, is computed in ``models.py`` from averages of the gap over one pitch.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
from sympy import And, Expr, Float, Piecewise, atan, cos, pi, sin
from sympy.logic.boolalg import Boolean

from augerbook.chapters import whole_head
from augerbook.chapters.heat import melt_flow
from augerbook.chapters.pumping.helix import BEYOND, REACH
from augerbook.chapters.pumping.models import screw_in_bore, shape_factors
from augerbook.chapters.screw import core_gap, flight_depth, flight_section, helix_angle_tip, root_width, tip_gap
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.distinct import each_once
from augerbook.core.network import Sweep
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import screw_speed
from augerbook.head.heating import heated_length
from augerbook.head.screw import (
    core_diameter,
    crest_width,
    eccentricity,
    flank_half_angle,
    major_diameter,
    pitch,
    reference_bore,
    reference_core_diameter,
    reference_crest_width,
    reference_flank_half_angle,
    reference_major_diameter,
    reference_pitch,
    screw_offset,
)
from augerbook.head.tube import bore_diameter

SUBJECT = Subject(
    "pumping",
    number=10,
    title="Pumping melt with a loose screw",
    question="How hard can a screw with a wide gap in its bore press, and does gap, depth or pitch matter?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_JUDGED = Source("judgement")
_CHANNEL = Source("groover", "extrusion of plastics, analysis of the extruder; drag flow and back pressure flow")
_SHAPES = Source("tadmor_gogos", "the parallel-plate model of the screw channel, shape factors")
_LEAK = Source("tadmor_gogos", "leakage over the flights, as flow through a slit")
_GROOVES = Source("hamrock", "Reynolds equation; averaged here over one pitch, as for narrow grooves")


def _reached() -> tuple[Boolean, str]:
    """Return whether finite elements were made for screws like this one, and what to say where they were not."""
    gap, depth, turn, flank = REACH.values()
    radius, rise = bore_diameter / 2, (root_width - crest_width) / 2

    def met(size: Expr, over: Expr, low: float, high: float) -> Boolean:
        return And(Float(low, 3) * over <= size, size <= Float(high, 3) * over)

    of_bore = [
        met(size, radius, low * (1 - BEYOND), high * (1 + BEYOND))
        for size, (low, high) in ((tip_gap, gap), (flight_depth, depth), (pitch, turn))
    ]
    slopes = (math.tan(math.radians(end)) for end in (flank[0] * (1 - BEYOND), flank[1] * (1 + BEYOND)))
    return And(*of_bore, met(rise, flight_depth, *slopes)), (
        "no finite elements were made for a screw like this one (they were for gaps over the tips of "
        f"{gap[0]:g} to {gap[1]:g} of the bore's radius, flights up to {depth[1]:g} of it deep, pitches of {turn[0]:g} "
        f"to {turn[1]:g} of it, flanks of {flank[0]:g} to {flank[1]:g} degrees); it counts as the nearest of those, so "
        "that what it pumps is a guess"
    )


drag_shape = SUBJECT.result("drag_shape", "F_d", "1", "what side walls leave of the drag flow")
pressure_shape = SUBJECT.result("pressure_shape", "F_p", "1", "what side walls leave of the pressure flow")
drag_volume = SUBJECT.result(
    "drag_volume", "V_d", "mm**3", "melt that one turn drags ahead against no pressure"
)  # fmt: skip
back_conductance = SUBJECT.result(
    "back_conductance", "G_p", "mm**4", "flow back, times viscosity over pressure gradient", positive=True
)
wall_drag = SUBJECT.result(
    "wall_drag", "J", "mm**2", "torque per unit of length, over viscosity and 2 pi times speed, without pressure",
    positive=True,
)  # fmt: skip
crossing_share = SUBJECT.result(
    "crossing_share", "x_over", "percent", "share of the flow back that crosses the flights instead of the groove"
)
drag_leaning = SUBJECT.result(
    "drag_leaning",
    "V_d_lean",
    "mm**3",
    "what one turn drags ahead when the screw leans",
    title="drag per turn of a leaning screw",
)
drag_bent = SUBJECT.result("drag_bent", "V_d_bent", "mm**3", "what one turn drags ahead when the offset turns")
wall_drag_leaning = SUBJECT.result(
    "wall_drag_leaning", "J_lean", "mm**2", "torque without pressure, likewise, when the screw leans"
)
wall_drag_bent = SUBJECT.result("wall_drag_bent", "J_bent", "mm**2", "the same when the offset turns with the screw")
wall_share = SUBJECT.result(
    "wall_share", "x_hold", "1", "share of the pressure's change along the screw that the wall holds", positive=True
)
axial_drag = SUBJECT.result(
    "axial_drag", "f_ax", "1/mm", "pull of the wall along the axis, away from the nozzle, for each torque"
)

_NEWTON = "the melt has one viscosity everywhere, whatever the shear rate (Newtonian), and creeps: inertia is nothing"
_STICKS = "the melt sticks to screw and wall"
_SHALLOW = "the channel is shallow beside the bore: unwrapped into a plane, curvature neglected"
_RECTANGLE = "the channel is a rectangle as wide as the mean of the real one"
_FLAT = (
    "the film is locally flat (lubrication), times what finite elements find on the helix of a centred screw; each "
    "sector of one out of centre as a centred one with its gap"
)
_FULL = "the bore is full of melt"
_LIES = "the screw lies parallel to the bore, equally far out of centre all along"
_SLENDER = "the pitch is small beside the circumference, so that a sector sees whole periods"
_FLANKS = (
    root_width < pitch,
    "the flanks of neighbouring turns meet above the core: the classical channel counts a flight that is not there",
)

channel_width = SUBJECT.equals(
    "channel_width",
    "W_ch",
    "mm",
    "mean width of the channel between two flights, square to them",
    (pitch - (crest_width + root_width) / 2) * cos(helix_angle_tip),
    "The mean width between flights",
    source=_HERE,
    assumptions=(_RECTANGLE,),
    valid=(_FLANKS,),
)
SUBJECT.model(
    "shape_factors", (channel_width, flight_depth), (drag_shape, pressure_shape), shape_factors,
    "What side walls leave of drag flow and pressure flow", source=_SHAPES, assumptions=(_RECTANGLE, _NEWTON, _STICKS),
)  # fmt: skip
channel_drag = SUBJECT.equals(
    "channel_drag",
    "V_ch_d",
    "mm**3",
    "melt that one turn drags ahead in the channel alone, tips touching the wall",
    drag_shape * pi * bore_diameter * cos(helix_angle_tip) * channel_width * flight_depth / 2,
    "The wall drags melt along the channel",
    source=_CHANNEL,
    assumptions=(_SHALLOW, _RECTANGLE, _NEWTON, _STICKS),
)
channel_conductance = SUBJECT.equals(
    "channel_conductance",
    "G_ch",
    "mm**4",
    "flow back along the channel, times viscosity over pressure gradient",
    pressure_shape * channel_width * flight_depth**3 * sin(helix_angle_tip) / 12,
    "Pressure drives melt back along the channel",
    source=_CHANNEL,
    assumptions=(_SHALLOW, _RECTANGLE, _NEWTON, _STICKS),
)
leak_conductance = SUBJECT.equals(
    "leak_conductance",
    "G_leak",
    "mm**4",
    "flow back through a narrow slit over the flights, likewise",
    pi * bore_diameter * tip_gap**3 * pitch * cos(helix_angle_tip) ** 2 / (12 * crest_width),
    "Leakage over the tips, as through a slit",
    positive=True,
    source=_LEAK,
    assumptions=("the gap over the tip is narrow beside the tip's width (it is not, in a loose screw)", _NEWTON),
)
channel_stiffness = SUBJECT.equals(
    "channel_stiffness",
    "K_ch",
    "1/m",
    "pump stiffness after the classical channel with leaking tips",
    channel_drag / (2 * pi * (channel_conductance + leak_conductance)),
    "The classical channel with its leak",
    source=_HERE,
    assumptions=(_SHALLOW, _NEWTON),
)
_FLANKS_MET = tip_gap + flight_depth * (pitch - crest_width) ** 2 / (2 * pitch * (root_width - crest_width))
mean_gap = SUBJECT.equals(
    "mean_gap",
    "H_mean",
    "mm",
    "gap between screw and wall, averaged over one pitch, centred",
    Piecewise((core_gap - flight_section / pitch, root_width < pitch), (_FLANKS_MET, True)),
    "The gap less what the flight takes of it",
    source=_HERE,
    assumptions=("where the flanks of neighbours meet above the core, the groove is as deep as they leave it",),
)
melt_radius = SUBJECT.equals(
    "melt_radius",
    "r_m",
    "mm",
    "radius half-way through the mean gap, where it is unwrapped",
    (bore_diameter - mean_gap) / 2,
    "Half-way between the wall and the mean of the screw",
    source=_DEFINITION,
    assumptions=(_SHALLOW,),
)
groove_angle = SUBJECT.equals(
    "groove_angle",
    "theta_m",
    "deg",
    "helix angle at that radius",
    atan(pitch / (2 * pi * melt_radius)),
    "The helix, unwrapped there",
    source=_HERE,
)
SUBJECT.model(
    "screw_in_bore",
    (
        bore_diameter, tip_gap, core_gap, crest_width, root_width, pitch, melt_radius, groove_angle, eccentricity,
    ),
    (
        back_conductance, crossing_share, drag_leaning, drag_bent, wall_drag_leaning, wall_drag_bent, wall_share,
        axial_drag,
    ),
    each_once(screw_in_bore), "What flows back, what a turn drags ahead, and what the wall feels", source=_GROOVES,
    assumptions=(_FLAT, _SLENDER, _SHALLOW, _FULL, _LIES, _NEWTON, _STICKS,
                 "a film of at least a fiftieth of the tip gap stays everywhere"), valid=(_reached(),),
)  # fmt: skip
SUBJECT.select(
    "drag_volume", drag_volume, screw_offset, {"leaning": drag_leaning, "bent": drag_bent},
    "What a turn drags ahead as the screw lies",
)  # fmt: skip
SUBJECT.select(
    "wall_drag", wall_drag, screw_offset, {"leaning": wall_drag_leaning, "bent": wall_drag_bent},
    "The drag on the wall as the screw lies",
)  # fmt: skip
pump_stiffness = SUBJECT.equals(
    "pump_stiffness",
    "K_p",
    "1/m",
    "pressure gradient at a closed nozzle, over viscosity and 2 pi times speed",
    drag_volume / (2 * pi * back_conductance),
    "Where the flow back equals the drag",
    source=_HERE,
    assumptions=(_NEWTON,),
    valid=(
        (
            drag_volume > 0,
            "so far out of centre in so wide a bore, the turning offset carries more melt back than the grooves drag "
            "ahead: this screw does not pump. Straighten it, or take a smaller bore",
        ),
    ),
)
wall_drag_pressure = SUBJECT.equals(
    "wall_drag_pressure",
    "J_p",
    "mm**3",
    "torque per unit of length, over pressure gradient, from pressure alone",
    drag_volume / (2 * pi),
    "The pressure's part of the torque",
    source=_HERE,
    assumptions=(_NEWTON,),
)
mean_shear = SUBJECT.equals(
    "mean_shear",
    "gamma_w",
    "1",
    "mean shear rate on the wall over 2 pi times speed",
    2 * wall_drag / (pi * bore_diameter**2),
    "The torque as a shear rate",
    positive=True,
    source=_HERE,
    assumptions=("without pressure",),
)
reference_pump_stiffness = SUBJECT.result(
    "reference_pump_stiffness", "K_ref", "1/m", "pump stiffness of the reference in its own bore", positive=True
)


@cache
def _any_leaning_screw() -> Sweep:
    """Pump stiffness by this chapter's own relations, for any screw in any bore."""
    shape = (bore_diameter, major_diameter, core_diameter, pitch, flank_half_angle, crest_width, eccentricity)
    return whole_head().compile([pump_stiffness], shape, {}, {screw_offset: "leaning"})


def reference_stiffness(*shape: Any) -> Any:
    """Return the pump stiffness (1/m) of straight screws; SI floats or arrays.

    Args:
        shape: bore, major diameter, core diameter, pitch (m), flank half-angle (rad), crest width (m), eccentricity.
    """
    rows = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in shape))
    (found,) = _any_leaning_screw()(*(row.ravel() for row in rows))
    return found.reshape(rows[0].shape)[()]


SUBJECT.model(
    "reference",
    (
        reference_bore, reference_major_diameter, reference_core_diameter, reference_pitch, reference_flank_half_angle,
        reference_crest_width, eccentricity,
    ),
    (reference_pump_stiffness,),
    reference_stiffness, "The same computation, for the reference", source=_HERE,
    assumptions=("the reference is straight and leans as far across its tip gap as the screw it is compared with",),
)  # fmt: skip
stiffness_ratio = SUBJECT.equals(
    "stiffness_ratio",
    "kappa_p",
    "1",
    "pump stiffness over that of the reference screw",
    pump_stiffness / reference_pump_stiffness,
    "Against a screw that prints well",
    source=_DEFINITION,
    title="pump stiffness over the reference",
    nonnegative=True,
)
closed_pressure = SUBJECT.equals(
    "closed_pressure",
    "Phi_0",
    "Pa/(Pa*s)",
    "pressure that the block's length of melt holds at a closed nozzle, for each viscosity",
    2 * pi * screw_speed * pump_stiffness * heated_length,
    "The gradient over the length of the block",
    source=_HERE,
    assumptions=(_NEWTON, "melt as fluid as in the block only there: colder plastic up the tube is stiffer by far"),
)
least_viscosity = SUBJECT.equals(
    "least_viscosity",
    "eta_min",
    "kPa*s",
    "viscosity below which this length of melt cannot press alone, flow or none",
    nozzle_pressure / closed_pressure,
    "What it takes to press alone",
    source=_HERE,
    assumptions=(_NEWTON,),
)
drag_flow_ratio = SUBJECT.equals(
    "drag_flow_ratio",
    "x_d",
    "1",
    "melt that the screw drags ahead against no pressure, over what leaves",
    drag_volume * screw_speed / melt_flow,
    "Drag flow over the flow that leaves",
    source=_DEFINITION,
)

SUBJECT.margin(
    "weak_pump", stiffness_ratio, good=0.7, limit=0.5, title="pump stiffness (at least)",
    why="a screw that presses much less than one known to print gives way to the nozzle: thin, uneven lines",
    advice="straighten a bent screw; take a larger screw or a smaller bore, so that the gap over the tip shrinks; the "
    "pitch helps far less",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "hard_pump", stiffness_ratio, good=1.5, limit=2, title="pump stiffness (at most)",
    why="a screw that can press much more strains bearing and frame in the first moment of every clog; what comes "
    "after is the stall, for any screw",
    advice="leave a wider gap over the tip; if the screw is to stay, see that bearing, plate, tube and nozzle bear the "
    "thrust at stall",
    source=_JUDGED,
)  # fmt: skip
