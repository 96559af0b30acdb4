"""The kinds of plates behind the bearing: stiffness and peak stress of each, and the one that is built.

Plates are thin and bend by small amounts; shear is added as a spring of its own, which keeps the sum right for plates
up to half as thick as their free width. The bearing's seat holds the plate flat: a guided inner edge. What the head
makes of the plate's stiffness stands in ``plate.py``.
"""

from __future__ import annotations

from sympy import Max, Min, Rational, log, pi

from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.subjects.plate_models import bolt_coefficients, navier, post_coefficients, strip_factors
from augerbook.subjects.thrust import design_thrust

#: The subject of the chapter, completed in ``plate.py``.
PLATE = Subject(
    "plate",
    number=14,
    title="The plate behind the bearing",
    question="How thick must the bearing plate be, and what does a soft one do to the print?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_PLATES = "timoshenko_plates"

CLAMPED, SUPPORTED = "annular, outer edge clamped", "annular, outer edge supported"
TWO_EDGES, FOUR_EDGES, FOUR_BOLTS, FOUR_POSTS = "two edges", "four edges", "four bolts", "four posts"
plate_support = PLATE.choice(
    "plate_support",
    "how the plate is held",
    {
        CLAMPED: "a round plate whose rim cannot tilt: bolted all round to a thick ring",
        SUPPORTED: "a round plate that rests on its rim and may tilt there",
        TWO_EDGES: "a strip that rests on two bars, its other sides free",
        FOUR_EDGES: "a rectangle that rests on all four sides",
        FOUR_BOLTS: "a square plate on four bolts whose heads hold it flat on firm faces",
        FOUR_POSTS: "a square plate on four slender posts that tilt with it",
    },
    part="plate",
)
plate_thickness = PLATE.given(
    "plate_thickness", "t_p", "mm", "thickness of the plate", 0.5, 20, part="plate", primary=True
)
plate_span = PLATE.given(
    "plate_span", "l_p", "mm", "free diameter of a round plate, or distance between supports or bolts", 10, 200,
    part="plate", primary=True,
)  # fmt: skip
plate_width = PLATE.given(
    "plate_width", "w_p", "mm", "other side of a rectangular plate or strip", 10, 200, part="plate"
)
seat_diameter = PLATE.given(
    "seat_diameter", "d_seat", "mm", "diameter over which the bearing's seat holds the plate flat", 2, 80, part="plate"
)
bolt_head_diameter = PLATE.given(
    "bolt_head_diameter", "d_head", "mm", "diameter of the heads or washers that hold the plate flat", 2, 30,
    part="plate",
)  # fmt: skip
plate_youngs_modulus = PLATE.given(
    "plate_youngs_modulus", "E_p", "GPa", "Young's modulus of the plate", 0.5, 250, part="plate"
)
plate_poisson_ratio = PLATE.given(
    "plate_poisson_ratio", "nu_p", "1", "Poisson's ratio of the plate", 0.05, 0.48, part="plate"
)
plate_density = PLATE.given("plate_density", "rho_p", "kg/m**3", "density of the plate", 800, 12_000, part="plate")
plate_yield_strength = PLATE.given(
    "plate_yield_strength", "sigma_y", "MPa", "stress at which the plate stays bent", 5, 2000, part="plate"
)
plate_material = PLATE.lookup(
    "plate_material",
    "material of the plate",
    "materials",
    {
        plate_youngs_modulus: "youngs_modulus",
        plate_poisson_ratio: "poisson_ratio",
        plate_density: "density",
        plate_yield_strength: "yield_strength",
    },
    part="plate",
)
PLATE.require(seat_diameter, plate_span, "the bearing's seat must lie within the plate")
PLATE.require(bolt_head_diameter, plate_span, "the bolts must have room between them")


def _pair(key: str, mark: str, words: str) -> tuple[Quantity, Quantity]:
    """Declare stiffness and peak stress of one kind of plate."""
    return (
        PLATE.result(f"{key}_stiffness", f"k_{mark}", "N/um", f"bending stiffness of {words}"),
        PLATE.result(f"{key}_stress", f"sigma_{mark}", "MPa", f"peak stress of {words} at design thrust"),
    )


flexural_rigidity = PLATE.result(
    "flexural_rigidity", "D_p", "N*m", "bending stiffness of the plate per width", positive=True
)
round_clamped_stiffness, round_clamped_stress = _pair("round_clamped", "rc", "a round plate, rim clamped")
round_supported_stiffness, round_supported_stress = _pair("round_supported", "rs", "a round plate, rim supported")
loose_clamped_stiffness, loose_clamped_stress = _pair(
    "loose_clamped", "lc", "a round plate, rim clamped, whose seat does not hold it flat"
)
loose_supported_stiffness, loose_supported_stress = _pair(
    "loose_supported", "ls", "a round plate, rim supported, whose seat does not hold it flat"
)
loose_rim_stress = PLATE.result(
    "loose_rim_stress", "sigma_lr", "MPa", "stress at the clamped rim of a round plate with a loose seat"
)
loose_hole_stress = PLATE.result(
    "loose_hole_stress", "sigma_lh", "MPa", "stress round the hole of a round plate, rim clamped, seat loose"
)
short_side = PLATE.result("short_side", "s_p", "mm", "shorter side of a rectangular plate", positive=True)
centre_coefficient = PLATE.result(
    "centre_coefficient", "alpha_p", "1", "deflection of a rectangle under a point force, w D / (F s^2)", positive=True
)
equal_radius = PLATE.result(
    "equal_radius", "R_eq", "mm", "radius of the round plate with the same moments round its middle", positive=True
)
lengthwise_share = PLATE.result(
    "lengthwise_share", "q_p", "1", "unevenness of bending: 0 for a square, 1 for an endless strip"
)
four_edges_stiffness, four_edges_stress = _pair("four_edges", "4e", "a rectangle on four edges")
strip_deflection_factor = PLATE.result(
    "strip_deflection_factor", "f_w", "1", "deflection of the strip over that of a wide beam", positive=True
)
strip_stress_factor = PLATE.result(
    "strip_stress_factor", "f_sigma", "1", "peak stress of the strip over that of a wide beam", positive=True
)
two_edges_stiffness, two_edges_stress = _pair("two_edges", "2e", "a strip on two edges")
bolts_deflection_coefficient = PLATE.result(
    "bolts_deflection_coefficient", "alpha_4b", "1", "deflection w D / (F l^2) of a plate on four bolts", positive=True
)
bolts_stress_coefficient = PLATE.result(
    "bolts_stress_coefficient", "beta_4b", "1", "peak stress t^2 sigma / F of a plate on four bolts", positive=True
)
four_bolts_stiffness, four_bolts_stress = _pair("four_bolts", "4b", "a plate on four bolts")
posts_deflection_coefficient = PLATE.result(
    "posts_deflection_coefficient", "alpha_4p", "1", "deflection w D / (F l^2) of a plate on four posts", positive=True
)
posts_stress_coefficient = PLATE.result(
    "posts_stress_coefficient", "beta_4p", "1", "peak stress t^2 sigma / F of a plate on four posts", positive=True
)
four_posts_stiffness, four_posts_stress = _pair("four_posts", "4p", "a plate on four posts")
plate_bending_stiffness = PLATE.result(
    "plate_bending_stiffness", "k_bend", "N/um", "bending stiffness of the plate as held", positive=True
)
plate_stress = PLATE.result("plate_stress", "sigma_p", "MPa", "peak stress of the plate at design thrust")
plate_shear_stiffness = PLATE.result(
    "plate_shear_stiffness", "k_shear", "N/um", "stiffness of the plate against shear", positive=True
)
plate_stiffness = PLATE.result(
    "plate_stiffness", "k_p", "N/um", "stiffness of the plate at the bearing's seat", positive=True
)

_THIN = "the plate is thin: lines across it stay straight and square to its middle face; shear is added apart"
_GUIDED = "the bearing's seat holds the plate flat up to the seat's diameter"
_LOOSE = "the bearing presses on a ring and leaves the plate free to tilt there; the screw passes through the hole"
_RIM = "the rim neither moves nor tilts"
_REST = "the rim rests all round and may tilt"
_ISOTROPIC = "the material is alike in all directions and springs back fully"
_THICK = (
    plate_thickness < (plate_span - seat_diameter) / 4,
    "the plate is thicker than half its free width: it is a block, stiffer than this and no longer what gives",
)
_CORNER = (
    seat_diameter < Rational(2, 5) * short_side,
    "the seat takes up much of the rectangle: the peak stress is more than a tenth above the figure given here",
)
_OVERHANG = "the plate is square and reaches 0.15 spans beyond the bolts"
_BEYOND = "the finite-element table ends here, so no figure is given: "
_SEAT_RANGE = (
    (seat_diameter >= plate_span / 10) & (seat_diameter <= plate_span / 2),
    _BEYOND + "the seat must measure between a tenth and a half of the span",
)
_WIDTH_RANGE = (
    (plate_width >= Rational(3, 5) * plate_span) & (plate_width <= Rational(3, 2) * plate_span),
    _BEYOND + "the strip must be between 0.6 and 1.5 times as wide as its span",
)
_HEAD_RANGE = (
    (bolt_head_diameter >= plate_span / 10) & (bolt_head_diameter <= plate_span / 5),
    _BEYOND + "the heads must measure between a tenth and a fifth of the bolt spacing",
)

_l, _d, _nu = plate_span, seat_diameter, plate_poisson_ratio
_ln = log(plate_span / seat_diameter)
_ln_rectangle = log(2 * equal_radius / seat_diameter)
_64pD = 64 * pi * flexural_rigidity
_PEAK = 6 * design_thrust / plate_thickness**2

PLATE.relation(
    "flexural_rigidity", flexural_rigidity,
    plate_youngs_modulus * plate_thickness**3 / (12 * (1 - plate_poisson_ratio**2)), "Bending of a strip held flat",
    source=Source(_PLATES, "art. 1, cylindrical bending"), assumptions=(_THIN, _ISOTROPIC),
)  # fmt: skip
PLATE.relation(
    "round_clamped", round_clamped_stiffness,
    _64pD / (_l**2 - _d**2 - 4 * _l**2 * _d**2 * _ln**2 / (_l**2 - _d**2)),
    "Annular plate, rim clamped, seat guided", source=_HERE, assumptions=(_THIN, _GUIDED, _RIM), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "round_clamped_stress", round_clamped_stress,
    _PEAK * (2 * _l**2 * _ln / (_l**2 - _d**2) - 1) / (4 * pi), "Bending stress along the radius, at the seat",
    source=_HERE, assumptions=(_THIN, _GUIDED, _RIM),
)  # fmt: skip
PLATE.relation(
    "round_supported", round_supported_stiffness,
    _64pD * ((1 + _nu) * _l**2 + (1 - _nu) * _d**2)
    / (
        (3 + _nu) * _l**4 - (1 - _nu) * _d**4 - 2 * (1 + _nu) * _l**2 * _d**2
        - 8 * _l**2 * _d**2 * _ln - 4 * (1 + _nu) * _l**2 * _d**2 * _ln**2
    ),
    "Annular plate, rim supported, seat guided", source=_HERE, assumptions=(_THIN, _GUIDED, _REST), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "round_supported_stress", round_supported_stress,
    _PEAK * (2 * (1 + _nu) * _l**2 * _ln + (1 - _nu) * (_l**2 - _d**2))
    / (4 * pi * ((1 + _nu) * _l**2 + (1 - _nu) * _d**2)),
    "Bending stress along the radius, at the seat", source=_HERE, assumptions=(_THIN, _GUIDED, _REST),
)  # fmt: skip
PLATE.relation(
    "loose_clamped", loose_clamped_stiffness,
    _64pD * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)
    / (
        (1 - _nu) * _l**4 - (3 + _nu) * _d**4 + 2 * (1 + _nu) * _l**2 * _d**2
        - 8 * _l**2 * _d**2 * _ln + 4 * (1 + _nu) * _l**2 * _d**2 * _ln**2
    ),
    "Annular plate, rim clamped, seat free to tilt", source=_HERE, assumptions=(_THIN, _LOOSE, _RIM), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "loose_rim_stress", loose_rim_stress,
    _PEAK * ((1 - _nu) * (_l**2 - _d**2) + 2 * (1 + _nu) * _d**2 * _ln)
    / (4 * pi * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)),
    "Bending stress along the radius, at the rim", source=_HERE, assumptions=(_THIN, _LOOSE, _RIM),
)  # fmt: skip
PLATE.relation(
    "loose_hole_stress", loose_hole_stress,
    _PEAK * (1 - _nu**2) * (2 * _l**2 * _ln - _l**2 + _d**2) / (4 * pi * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)),
    "Bending stress round the hole", source=_HERE, assumptions=(_THIN, _LOOSE, _RIM),
)  # fmt: skip
PLATE.relation(
    "loose_clamped_stress", loose_clamped_stress, Max(loose_rim_stress, loose_hole_stress), "The larger of the two",
    source=_DEFINITION,
)  # fmt: skip
PLATE.relation(
    "loose_supported", loose_supported_stiffness,
    _64pD / (
        (3 + _nu) / (1 + _nu) * (_l**2 - _d**2) + 4 * (1 + _nu) / (1 - _nu) * _l**2 * _d**2 * _ln**2 / (_l**2 - _d**2)
    ),
    "Annular plate, rim supported, seat free to tilt", source=_HERE, assumptions=(_THIN, _LOOSE, _REST),
    valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "loose_supported_stress", loose_supported_stress,
    _PEAK * (2 * (1 + _nu) * _l**2 * _ln / (_l**2 - _d**2) + 1 - _nu) / (4 * pi), "Bending stress round the hole",
    source=_HERE, assumptions=(_THIN, _LOOSE, _REST),
)  # fmt: skip
PLATE.relation("short_side", short_side, Min(plate_span, plate_width), "The shorter side", source=_DEFINITION)
PLATE.model(
    "navier", (plate_span, plate_width), (centre_coefficient, equal_radius, lengthwise_share), navier,
    "Navier's series at the middle of a rectangle under a point force",
    source=Source(_PLATES, "Navier's solution; force at a point of a rectangular plate"),
    assumptions=(_THIN, "all four edges rest and may tilt; the corners are held down"),
)  # fmt: skip
PLATE.relation(
    "four_edges", four_edges_stiffness,
    flexural_rigidity / (
        centre_coefficient * short_side**2
        - _d**2 / (32 * pi) * (2 * _ln_rectangle**2 + 2 * _ln_rectangle + 1)
    ),
    "Rectangle on four edges: Navier's plate, less what the seat holds flat", source=_HERE,
    assumptions=(_THIN, _GUIDED, "the seat is small beside the plate"), valid=(_THICK, _CORNER),
)  # fmt: skip
PLATE.relation(
    "four_edges_stress", four_edges_stress,
    _PEAK / (2 * pi) * (_ln_rectangle + lengthwise_share), "Bending stress along the radius, at the seat",
    source=_HERE, assumptions=(_THIN, _GUIDED, "the seat is small beside the plate"), valid=(_CORNER,),
)  # fmt: skip
PLATE.model(
    "strip", (plate_span, plate_width, seat_diameter), (strip_deflection_factor, strip_stress_factor), strip_factors,
    "A strip with a seat in its middle against a wide beam, by finite elements", source=_HERE,
    assumptions=(_THIN, _GUIDED, "Poisson's ratio 0.3; others change it by 2 %"), valid=(_SEAT_RANGE, _WIDTH_RANGE),
)  # fmt: skip
PLATE.relation(
    "two_edges", two_edges_stiffness,
    48 * flexural_rigidity * plate_width / (strip_deflection_factor * plate_span**3),
    "A wide beam on two supports, corrected for the seat and the free sides", source=_HERE,
    assumptions=(_THIN, "both edges rest and may tilt"), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "two_edges_stress", two_edges_stress, _PEAK * strip_stress_factor * plate_span / (4 * plate_width),
    "Bending stress of a wide beam at mid-span, raised at the seat", source=_HERE,
    assumptions=(_THIN, "both edges rest and may tilt"),
)  # fmt: skip
PLATE.model(
    "bolts", (plate_span, seat_diameter, bolt_head_diameter), (bolts_deflection_coefficient, bolts_stress_coefficient),
    bolt_coefficients,
    "A square plate held flat under four bolt heads, by finite elements", source=_HERE,
    assumptions=(_THIN, _GUIDED, _OVERHANG, "heads hold the plate flat on firm faces", "Poisson's ratio 0.3"),
    valid=(_SEAT_RANGE, _HEAD_RANGE),
)  # fmt: skip
PLATE.relation(
    "four_bolts", four_bolts_stiffness, flexural_rigidity / (bolts_deflection_coefficient * plate_span**2),
    "A square plate on four bolts", source=_HERE, assumptions=(_THIN, _GUIDED, _OVERHANG), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "four_bolts_stress", four_bolts_stress, bolts_stress_coefficient * design_thrust / plate_thickness**2,
    "Peak stress at the seat or at the heads, whichever is larger", source=_HERE, assumptions=(_THIN, _GUIDED),
)  # fmt: skip
PLATE.model(
    "posts", (plate_span, seat_diameter), (posts_deflection_coefficient, posts_stress_coefficient), post_coefficients,
    "A square plate held at four points that tilt with it, by finite elements", source=_HERE,
    assumptions=(_THIN, _GUIDED, _OVERHANG, "posts hold points of the plate and tilt freely", "Poisson's ratio 0.3"),
    valid=(_SEAT_RANGE,),
)  # fmt: skip
PLATE.relation(
    "four_posts", four_posts_stiffness, flexural_rigidity / (posts_deflection_coefficient * plate_span**2),
    "A square plate on four posts", source=_HERE, assumptions=(_THIN, _GUIDED, _OVERHANG), valid=(_THICK,),
)  # fmt: skip
PLATE.relation(
    "four_posts_stress", four_posts_stress, posts_stress_coefficient * design_thrust / plate_thickness**2,
    "Peak stress at the seat", source=_HERE, assumptions=(_THIN, _GUIDED),
)  # fmt: skip
PLATE.select(
    "bending", plate_bending_stiffness, plate_support,
    {
        CLAMPED: round_clamped_stiffness, SUPPORTED: round_supported_stiffness, TWO_EDGES: two_edges_stiffness,
        FOUR_EDGES: four_edges_stiffness, FOUR_BOLTS: four_bolts_stiffness, FOUR_POSTS: four_posts_stiffness,
    },
    "The bending stiffness of the plate built",
)  # fmt: skip
PLATE.select(
    "stress", plate_stress, plate_support,
    {
        CLAMPED: round_clamped_stress, SUPPORTED: round_supported_stress, TWO_EDGES: two_edges_stress,
        FOUR_EDGES: four_edges_stress, FOUR_BOLTS: four_bolts_stress, FOUR_POSTS: four_posts_stress,
    },
    "The peak stress of the plate built",
)  # fmt: skip
PLATE.relation(
    "shear", plate_shear_stiffness,
    5 * pi * plate_youngs_modulus * plate_thickness / (6 * (1 + plate_poisson_ratio) * _ln),
    "Shear of a plate under a force at its middle", source=_HERE,
    assumptions=(
        "shear is five sixths as stiff as if it were even over the thickness (Reissner)",
        "other plates shear as a round one of the same span",
    ),
)  # fmt: skip
PLATE.relation(
    "stiffness", plate_stiffness, 1 / (1 / plate_bending_stiffness + 1 / plate_shear_stiffness),
    "Bending and shear are springs in series", source=_HERE,
)  # fmt: skip
