"""The plate behind the bearing in the head: deflection, springs in series, the dip at a stop, thickness and mass.

The kinds of plates and their stiffness stand in ``plate_kinds.py``.
"""

from __future__ import annotations

from sympy import Expr, Piecewise, Rational, asinh, oo, pi, sinh, sqrt

from augerbook.core.sources import Source
from augerbook.subjects.bearing import bearing_stiffness, end_play
from augerbook.subjects.plate_kinds import (
    CLAMPED,
    FOUR_BOLTS,
    FOUR_EDGES,
    FOUR_POSTS,
    PLATE,
    SUPPORTED,
    TWO_EDGES,
    plate_bending_stiffness,
    plate_density,
    plate_shear_stiffness,
    plate_span,
    plate_stiffness,
    plate_stress,
    plate_support,
    plate_thickness,
    plate_width,
    plate_yield_strength,
)
from augerbook.subjects.plate_models import OVERHANG
from augerbook.subjects.screw import core_diameter, flighted_length
from augerbook.subjects.thrust import bore_section, design_thrust, running_thrust

__all__ = ["SUBJECT", "plate_stiffness", "plate_stress", "plate_support"]

SUBJECT = PLATE
_HERE = Source("derived here")
_DEFINITION = Source("definition")

screw_youngs_modulus = SUBJECT.given(
    "screw_youngs_modulus", "E_s", "GPa", "Young's modulus of the screw", 2, 250, part="screw"
)
coupling_stiffness = SUBJECT.given(
    "coupling_stiffness", "k_c", "N/um", "axial stiffness of what joins screw and bearing: collar, nut, sleeve",
    0.5, 2000, part="drive",
)  # fmt: skip
frame_stiffness = SUBJECT.given(
    "frame_stiffness", "k_f", "N/um", "axial stiffness of what joins plate and tube: posts, block, frame",
    0.5, 2000, part="plate",
)  # fmt: skip
retraction_volume = SUBJECT.given(
    "retraction_volume", "V_r", "mm**3", "melt that the machine takes back at a stop", 0.2, 100, part="printing",
    primary=True,
)  # fmt: skip

plate_deflection = SUBJECT.result(
    "plate_deflection", "delta_p", "um", "deflection of the plate at running thrust", positive=True
)
design_plate_deflection = SUBJECT.result(
    "design_plate_deflection", "delta_design", "um", "deflection of the plate at design thrust"
)
plate_stress_share = SUBJECT.result(
    "plate_stress_share", "x_sigma", "1", "peak stress at design thrust over yield strength"
)
screw_stiffness = SUBJECT.result(
    "screw_stiffness", "k_s", "N/um", "stiffness of the screw's core against being pressed shorter", positive=True
)
chain_compliance = SUBJECT.result(
    "chain_compliance", "c_rest", "um/N", "give of all springs but the plate, for each newton", positive=True
)
head_stiffness = SUBJECT.result(
    "head_stiffness", "k_head", "N/um", "stiffness of all springs of the head in series", positive=True
)
plate_share = SUBJECT.result("plate_share", "x_plate", "percent", "share of the plate in the give of the head")
screw_dip = SUBJECT.result(
    "screw_dip", "delta_dip", "um", "how far the screw springs forward when its thrust is released"
)
springback_volume = SUBJECT.result(
    "springback_volume", "V_dip", "mm**3", "melt pushed out by the springing screw, at most"
)
springback_over_retraction = SUBJECT.result(
    "springback_over_retraction", "x_dip", "1", "volume of the dip over what the machine takes back"
)
bending_over_shear = SUBJECT.result(
    "bending_over_shear",
    "x_shear",
    "1",
    "bending stiffness of the plate over its stiffness against shear",
    positive=True,
)
plate_allowance = SUBJECT.result(
    "plate_allowance", "delta_left", "um", "deflection left to the plate when the dip shall be good"
)
needed_plate_thickness = SUBJECT.result(
    "needed_plate_thickness", "t_need", "mm", "thickness at which the dip is good; unlimited when the rest is too soft"
)
enough_plate_thickness = SUBJECT.result(
    "enough_plate_thickness", "t_enough", "mm", "thickness at which the plate has a tenth of all give", positive=True
)
plate_area = SUBJECT.result("plate_area", "A_p", "mm**2", "area of the plate as held", positive=True)
round_area = SUBJECT.result("round_area", "A_round", "mm**2", "area of a round plate", positive=True)
rectangle_area = SUBJECT.result("rectangle_area", "A_rect", "mm**2", "area of a rectangular plate", positive=True)
bolted_area = SUBJECT.result(
    "bolted_area", "A_bolt", "mm**2", "area of a square plate that reaches beyond its bolts", positive=True
)
plate_mass = SUBJECT.result("plate_mass", "m_p", "g", "mass of the plate between its supports", positive=True)
stiffness_over_mass = SUBJECT.result(
    "stiffness_over_mass", "k_m", "N/um/kg", "stiffness of the plate for each kilogram of it", positive=True
)

#: Share of the retraction volume that the dip may take and still be good; the margin and the needed thickness use it.
GOOD_SHARE = Rational(1, 10)
#: Share of the plate in the give of the head below which a thicker plate hardly helps.
ENOUGH_SHARE = Rational(1, 10)

_SLOPE = "springs give in proportion; the bearing's is its slope at running thrust, so its first give is left out"
_UPPER = "the plug follows the screw over the whole section of the bore: an upper bound"
_SAME = "material, span, seat and supports stay as they are"


def _thickness_that_gives(compliance: Expr) -> Expr:
    """Return the thickness at which bending (with its cube) and shear together give as much as asked for.

    With y the present thickness over the new one, y^3 / k_bend + y / k_shear = compliance has one real root.
    """
    wanted = 3 * sqrt(3) / 2 * compliance * plate_bending_stiffness / bending_over_shear ** Rational(3, 2)
    return plate_thickness / (2 * sqrt(bending_over_shear / 3) * sinh(asinh(wanted) / 3))


SUBJECT.relation(
    "deflection", plate_deflection, running_thrust / plate_stiffness, "The plate while the screw runs",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "design_deflection", design_plate_deflection, design_thrust / plate_stiffness, "The plate at its worst",
    source=_DEFINITION,
    valid=((
        design_plate_deflection < plate_thickness / 2,
        "the plate bends by more than half its thickness: it then also stretches, and is stiffer than computed here",
    ),),
)  # fmt: skip
SUBJECT.relation(
    "stress_share", plate_stress_share, plate_stress / plate_yield_strength, "What the plate bears of what it could",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "screw", screw_stiffness, screw_youngs_modulus * pi * core_diameter**2 / (4 * flighted_length),
    "The core as a rod under the thrust at its tip", source=_HERE,
    assumptions=("all thrust enters at the tip and the flights stiffen nothing", "the shank gives nothing"),
)  # fmt: skip
SUBJECT.relation(
    "chain", chain_compliance,
    1 / bearing_stiffness + 1 / screw_stiffness + 1 / coupling_stiffness + 1 / frame_stiffness,
    "The give of springs in series adds up", source=_HERE, assumptions=(_SLOPE,),
)  # fmt: skip
SUBJECT.relation(
    "head_stiffness", head_stiffness, 1 / (1 / plate_stiffness + chain_compliance), "All springs in series",
    source=_HERE, assumptions=(_SLOPE,),
)  # fmt: skip
SUBJECT.relation(
    "plate_share", plate_share, head_stiffness / plate_stiffness, "How much of the give is the plate's",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "dip", screw_dip, running_thrust / head_stiffness + end_play, "The springs let go, and the play closes",
    source=_HERE, assumptions=(_SLOPE, "the screw falls through all of its play"),
)  # fmt: skip
SUBJECT.relation(
    "springback_volume", springback_volume, screw_dip * bore_section, "The screw as a piston in its bore",
    source=_HERE, assumptions=(_UPPER,),
)  # fmt: skip
SUBJECT.relation(
    "springback_share", springback_over_retraction, springback_volume / retraction_volume, "Blob against retraction",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "bending_over_shear", bending_over_shear, plate_bending_stiffness / plate_shear_stiffness,
    "How much of a block the plate is", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "allowance", plate_allowance,
    GOOD_SHARE * retraction_volume / bore_section - end_play - running_thrust * chain_compliance,
    "What play and the other springs leave to the plate", source=_HERE, assumptions=(_SLOPE, _UPPER),
)  # fmt: skip
SUBJECT.relation(
    "needed_thickness", needed_plate_thickness,
    Piecewise((oo, plate_allowance <= 0), (_thickness_that_gives(plate_allowance / running_thrust), True)),
    "Bending gives with the cube of the thickness, shear with the thickness itself", source=_HERE,
    assumptions=(_SAME,),
)  # fmt: skip
SUBJECT.relation(
    "enough_thickness", enough_plate_thickness,
    _thickness_that_gives(chain_compliance * ENOUGH_SHARE / (1 - ENOUGH_SHARE)),
    "The same with a tenth of all give for the plate", source=_HERE, assumptions=(_SAME, _SLOPE),
)  # fmt: skip
SUBJECT.relation("round_area", round_area, pi * plate_span**2 / 4, "A disc", source=_DEFINITION)
SUBJECT.relation("rectangle_area", rectangle_area, plate_span * plate_width, "A rectangle", source=_DEFINITION)
SUBJECT.relation(
    "bolted_area", bolted_area, ((1 + 2 * Rational(str(OVERHANG))) * plate_span) ** 2,
    "A square that reaches beyond its bolts", source=_DEFINITION,
)  # fmt: skip
SUBJECT.select(
    "area", plate_area, plate_support,
    {
        CLAMPED: round_area, SUPPORTED: round_area, TWO_EDGES: rectangle_area, FOUR_EDGES: rectangle_area,
        FOUR_BOLTS: bolted_area, FOUR_POSTS: bolted_area,
    },
    "The area of the plate built",
)  # fmt: skip
SUBJECT.relation(
    "mass", plate_mass, plate_density * plate_area * plate_thickness, "Density times volume", source=_DEFINITION,
    assumptions=("the rim that is clamped adds to this, the hole for the screw takes off",),
)  # fmt: skip
SUBJECT.relation(
    "stiffness_over_mass", stiffness_over_mass, plate_stiffness / plate_mass, "What a kilogram of plate buys",
    source=_DEFINITION,
)  # fmt: skip

SUBJECT.margin(
    "springback_over_retraction",
    springback_over_retraction,
    good=float(GOOD_SHARE),
    limit=0.5,
    why="at a stop the screw springs forward and pushes out melt that the machine has just taken back: a blob",
    advice="take the play out of the bearing first, then thicken the plate or shorten its span",
    source=Source("judgement"),
)
SUBJECT.margin(
    "plate_stress_share",
    plate_stress_share,
    good=0.5,
    limit=1.0,
    why="above the yield strength a stalled motor leaves the plate bent for good, and the screw no longer runs true",
    advice="take a thicker plate, a stronger alloy or a shorter span, or limit the current of the motor",
    source=Source("judgement", "half of yield leaves a safety of 2, as machine design texts ask for ductile metal"),
)
