"""The plate behind the bearing: stiffness and stress of each kind, and what the head makes of the one that is built.

Plates are thin and bend by small amounts; shear is added as a spring of its own, which keeps the sum right for plates
up to half as thick as their free width. The bearing's seat holds the plate flat: a guided inner edge. In the head the
plate is one of several springs in series: deflection, the dip at a stop, the thickness that is enough, and mass.
"""

from __future__ import annotations

from sympy import Expr, Piecewise, Rational, asinh, log, oo, pi, sinh, sqrt

from augerbook.chapters.bearing import bearing_stiffness, end_play
from augerbook.chapters.operating import blocked_thrust
from augerbook.chapters.plate.models import (
    OVERHANG,
    bolt_coefficients,
    clamped_rectangle,
    navier,
    post_coefficients,
    rectangle_reaches,
    strip_factors,
)
from augerbook.chapters.thrust import bore_section, design_thrust, nozzle_pressure, running_thrust
from augerbook.core.extremes import largest, smallest
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.bearing import bearing_bore, bearing_outside_diameter
from augerbook.head.drive import coupling_stiffness
from augerbook.head.plate import (
    CLAMPED,
    FOUR_BOLTS,
    FOUR_CLAMPED,
    FOUR_EDGES,
    FOUR_POSTS,
    LOOSE_CLAMPED,
    LOOSE_SUPPORTED,
    SUPPORTED,
    TWO_EDGES,
    bolt_head_diameter,
    frame_stiffness,
    plate_density,
    plate_poisson_ratio,
    plate_span,
    plate_support,
    plate_thickness,
    plate_width,
    plate_yield_strength,
    plate_youngs_modulus,
    seat_diameter,
)
from augerbook.head.printing import retraction_volume
from augerbook.head.screw import core_diameter, flighted_length, screw_youngs_modulus

SUBJECT = Subject(
    "plate",
    number=14,
    title="The plate behind the bearing",
    question="How thick must the bearing plate be, and what does a soft one do to the print?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_PLATES = "timoshenko_plates"


def _pair(key: str, mark: str, words: str) -> tuple[Quantity, Quantity]:
    """Declare stiffness and peak stress of one kind of plate."""
    return (
        SUBJECT.result(f"{key}_stiffness", f"k_{mark}", "N/um", f"bending stiffness of {words}"),
        SUBJECT.result(f"{key}_stress", f"sigma_{mark}", "MPa", f"peak stress of {words} at design thrust"),
    )


flexural_rigidity = SUBJECT.result(
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
short_side = SUBJECT.result("short_side", "s_p", "mm", "shorter side of a rectangular plate", positive=True)
centre_coefficient = SUBJECT.result(
    "centre_coefficient", "alpha_p", "1", "deflection of a rectangle under a point force, w D / (F s^2)", positive=True
)
equal_radius = SUBJECT.result(
    "equal_radius", "R_eq", "mm", "radius of the round plate with the same moments round its middle", positive=True
)
lengthwise_share = SUBJECT.result(
    "lengthwise_share", "q_p", "1", "unevenness of bending: 0 for a square, 1 for an endless strip"
)
four_edges_stiffness, four_edges_stress = _pair("four_edges", "4e", "a rectangle on four edges")
clamped_coefficient = SUBJECT.result(
    "clamped_coefficient", "alpha_c", "1", "deflection w D / (F s^2) of a clamped rectangle under a point force",
    positive=True,
)  # fmt: skip
clamped_radius = SUBJECT.result(
    "clamped_radius", "R_c", "mm", "radius of the round plate, rim clamped, with the same moments round its middle",
    positive=True,
)  # fmt: skip
clamped_share = SUBJECT.result(
    "clamped_share", "q_c", "1", "unevenness of bending in the middle of a clamped rectangle: 0 for a square"
)
clamped_tent_share = SUBJECT.result(
    "clamped_tent_share", "h_c", "1", "unevenness of the tent that a level seat adds, for a short side of one"
)
edge_moment = SUBJECT.result(
    "edge_moment", "beta_c", "1", "moment for each width at the middle of the long clamped edge, over a point force",
    positive=True,
)  # fmt: skip
four_clamped_stiffness, four_clamped_stress = _pair("four_clamped", "4c", "a rectangle, all four edges clamped")
strip_deflection_factor = SUBJECT.result(
    "strip_deflection_factor", "f_w", "1", "deflection of the strip over that of a wide beam", positive=True
)
strip_stress_factor = SUBJECT.result(
    "strip_stress_factor", "f_sigma", "1", "peak stress of the strip over that of a wide beam", positive=True
)
two_edges_stiffness, two_edges_stress = _pair("two_edges", "2e", "a strip on two edges")
bolts_deflection_coefficient = SUBJECT.result(
    "bolts_deflection_coefficient", "alpha_4b", "1", "deflection w D / (F l^2) of a plate on four bolts", positive=True
)
bolts_stress_coefficient = SUBJECT.result(
    "bolts_stress_coefficient", "beta_4b", "1", "peak stress t^2 sigma / F of a plate on four bolts", positive=True
)
four_bolts_stiffness, four_bolts_stress = _pair("four_bolts", "4b", "a plate on four bolts")
posts_deflection_coefficient = SUBJECT.result(
    "posts_deflection_coefficient", "alpha_4p", "1", "deflection w D / (F l^2) of a plate on four posts", positive=True
)
posts_stress_coefficient = SUBJECT.result(
    "posts_stress_coefficient", "beta_4p", "1", "peak stress t^2 sigma / F of a plate on four posts", positive=True
)
four_posts_stiffness, four_posts_stress = _pair("four_posts", "4p", "a plate on four posts")


def _reach(key: str, mark: str, words: str) -> Quantity:
    """Declare how far one kind of plate shears."""
    return SUBJECT.result(f"{key}_shear_reach", f"Lambda_{mark}", "1", f"shear reach of {words}", positive=True)


round_shear_reach = _reach("round", "r", "a round plate")
strip_shear_reach = _reach("strip", "2e", "a strip on two edges")
four_edges_shear_reach = _reach("four_edges", "4e", "a rectangle on four edges")
four_clamped_shear_reach = _reach("four_clamped", "4c", "a rectangle, all four edges clamped")
bolts_shear_reach = _reach("bolts", "4b", "a plate on four bolts")
posts_shear_reach = _reach("posts", "4p", "a plate on four posts")
shear_reach = SUBJECT.result(
    "shear_reach", "Lambda", "1", "how far the plate shears, over F / (2 pi kappa G t); a round one ln(span / seat)",
    positive=True,
)  # fmt: skip
plate_bending_stiffness = SUBJECT.result(
    "plate_bending_stiffness",
    "k_bend",
    "N/um",
    "bending stiffness of the plate as held",
    positive=True,
    title="stiffness of the plate as held",
)
plate_stress = SUBJECT.result("plate_stress", "sigma_p", "MPa", "peak stress of the plate at design thrust")

_THIN = "the plate is thin: lines across it stay straight and square to its middle face; shear is added apart"
_GUIDED = "the bearing's seat holds the plate flat up to the seat's diameter"
_LOOSE = "the bearing presses on a ring and leaves the plate free to tilt there; the screw passes through the hole"
_RIM = "the rim neither moves nor tilts"
_REST = "the rim rests all round and may tilt"
_EDGES = "the four edges neither move nor tilt"
_SMALL_SEAT = "the seat is small beside the plate"
_ISOTROPIC = "the material is alike in all directions and springs back fully"
_THICK = (
    plate_thickness < (plate_span - seat_diameter) / 4,
    "the plate is thicker than half its free width: it is a block, stiffer than computed here, and hardly bends",
)
_THICK_RECTANGLE = (plate_thickness < (short_side - seat_diameter) / 4, _THICK[1])
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

_SEAT_ON_RING = (
    (seat_diameter >= bearing_outside_diameter / 2 + bearing_bore / 2)
    & (seat_diameter <= Rational(3, 2) * bearing_outside_diameter),
    "seat and bearing do not fit each other: a bearing presses between the circle of its balls and its outside, in a "
    "stiff housing up to half as far again",
)

_l, _d, _nu = plate_span, seat_diameter, plate_poisson_ratio
_ln = log(plate_span / seat_diameter)
_ln_rectangle = log(2 * equal_radius / seat_diameter)
_ln_clamped = log(2 * clamped_radius / seat_diameter)
_GAP = 4 * clamped_radius**2 - seat_diameter**2
_64pD = 64 * pi * flexural_rigidity
_PEAK = 6 * design_thrust / plate_thickness**2

SUBJECT.relation(
    "flexural_rigidity", flexural_rigidity,
    plate_youngs_modulus * plate_thickness**3 / (12 * (1 - plate_poisson_ratio**2)),
    "Bending of a strip that cannot grow narrower",
    source=Source(_PLATES, "art. 1, cylindrical bending"), assumptions=(_THIN, _ISOTROPIC),
)  # fmt: skip
SUBJECT.relation(
    "round_clamped", round_clamped_stiffness,
    _64pD / (_l**2 - _d**2 - 4 * _l**2 * _d**2 * _ln**2 / (_l**2 - _d**2)),
    "Annular plate, rim clamped, seat guided", source=_HERE, assumptions=(_THIN, _GUIDED, _RIM), valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "round_clamped_stress", round_clamped_stress,
    _PEAK * (2 * _l**2 * _ln / (_l**2 - _d**2) - 1) / (4 * pi), "Bending stress along the radius, at the seat",
    source=_HERE, assumptions=(_THIN, _GUIDED, _RIM),
)  # fmt: skip
SUBJECT.relation(
    "round_supported", round_supported_stiffness,
    _64pD * ((1 + _nu) * _l**2 + (1 - _nu) * _d**2)
    / (
        (3 + _nu) * _l**4 - (1 - _nu) * _d**4 - 2 * (1 + _nu) * _l**2 * _d**2
        - 8 * _l**2 * _d**2 * _ln - 4 * (1 + _nu) * _l**2 * _d**2 * _ln**2
    ),
    "Annular plate, rim supported, seat guided", source=_HERE, assumptions=(_THIN, _GUIDED, _REST), valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "round_supported_stress", round_supported_stress,
    _PEAK * (2 * (1 + _nu) * _l**2 * _ln + (1 - _nu) * (_l**2 - _d**2))
    / (4 * pi * ((1 + _nu) * _l**2 + (1 - _nu) * _d**2)),
    "Bending stress along the radius, at the seat", source=_HERE, assumptions=(_THIN, _GUIDED, _REST),
)  # fmt: skip
SUBJECT.relation(
    "loose_clamped", loose_clamped_stiffness,
    _64pD * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)
    / (
        (1 - _nu) * _l**4 - (3 + _nu) * _d**4 + 2 * (1 + _nu) * _l**2 * _d**2
        - 8 * _l**2 * _d**2 * _ln + 4 * (1 + _nu) * _l**2 * _d**2 * _ln**2
    ),
    "Annular plate, rim clamped, seat free to tilt", source=_HERE, assumptions=(_THIN, _LOOSE, _RIM), valid=(_THICK,),
)  # fmt: skip
loose_rim_stress = SUBJECT.equals(
    "loose_rim_stress",
    "sigma_lr",
    "MPa",
    "stress at the clamped rim of a round plate with a loose seat",
    _PEAK
    * ((1 - _nu) * (_l**2 - _d**2) + 2 * (1 + _nu) * _d**2 * _ln)
    / (4 * pi * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)),
    "Bending stress along the radius, at the rim",
    source=_HERE,
    assumptions=(_THIN, _LOOSE, _RIM),
)
loose_hole_stress = SUBJECT.equals(
    "loose_hole_stress",
    "sigma_lh",
    "MPa",
    "stress round the hole of a round plate, rim clamped, seat loose",
    _PEAK * (1 - _nu**2) * (2 * _l**2 * _ln - _l**2 + _d**2) / (4 * pi * ((1 - _nu) * _l**2 + (1 + _nu) * _d**2)),
    "Bending stress round the hole",
    source=_HERE,
    assumptions=(_THIN, _LOOSE, _RIM),
)
SUBJECT.relation(
    "loose_clamped_stress", loose_clamped_stress, largest(loose_rim_stress, loose_hole_stress), "The larger of the two",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "loose_supported", loose_supported_stiffness,
    _64pD / (
        (3 + _nu) / (1 + _nu) * (_l**2 - _d**2) + 4 * (1 + _nu) / (1 - _nu) * _l**2 * _d**2 * _ln**2 / (_l**2 - _d**2)
    ),
    "Annular plate, rim supported, seat free to tilt", source=_HERE, assumptions=(_THIN, _LOOSE, _REST),
    valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "loose_supported_stress", loose_supported_stress,
    _PEAK * (2 * (1 + _nu) * _l**2 * _ln / (_l**2 - _d**2) + 1 - _nu) / (4 * pi), "Bending stress round the hole",
    source=_HERE, assumptions=(_THIN, _LOOSE, _REST),
)  # fmt: skip
SUBJECT.relation("short_side", short_side, smallest(plate_span, plate_width), "The shorter side", source=_DEFINITION)
SUBJECT.model(
    "navier", (plate_span, plate_width), (centre_coefficient, equal_radius, lengthwise_share), navier,
    "Navier's series at the middle of a rectangle under a point force",
    source=Source(_PLATES, "Navier's solution; force at a point of a rectangular plate"),
    assumptions=(_THIN, "all four edges rest and may tilt; the corners are held down"),
)  # fmt: skip
SUBJECT.relation(
    "four_edges", four_edges_stiffness,
    flexural_rigidity / (
        centre_coefficient * short_side**2
        - _d**2 / (32 * pi) * (2 * _ln_rectangle**2 + 2 * _ln_rectangle + 1)
    ),
    "Rectangle on four edges: Navier's plate, less what the seat holds flat", source=_HERE,
    assumptions=(_THIN, _GUIDED, _SMALL_SEAT), valid=(_THICK_RECTANGLE, _CORNER),
)  # fmt: skip
SUBJECT.relation(
    "four_edges_stress", four_edges_stress,
    _PEAK / (2 * pi) * (_ln_rectangle + lengthwise_share), "Bending stress along the radius, at the seat",
    source=_HERE, assumptions=(_THIN, _GUIDED, _SMALL_SEAT), valid=(_CORNER,),
)  # fmt: skip
SUBJECT.model(
    "superposition", (plate_span, plate_width),
    (clamped_coefficient, clamped_radius, clamped_share, clamped_tent_share, edge_moment), clamped_rectangle,
    "The supported rectangle under a point force, and moments along its edges that bring the slope there to zero",
    source=Source(_PLATES, "rectangular plates with built-in edges, force at the middle; from memory"),
    assumptions=(_THIN, _EDGES),
)  # fmt: skip
rim_relief = SUBJECT.equals(
    "rim_relief",
    "x_rim",
    "1",
    "share of the moment at a clamped rim that the seat takes off",
    2 * _d**2 * _ln_clamped / _GAP,
    "What the seat takes off the rim of the round plate with the same moments round its middle",
    positive=True,
    source=_HERE,
    assumptions=(_THIN, _GUIDED, _SMALL_SEAT),
)
seated_clamped_share = SUBJECT.equals(
    "seated_clamped_share",
    "q_sc",
    "1",
    "unevenness of bending in a clamped rectangle, with the seat in",
    clamped_share - clamped_tent_share * clamped_radius**2 / (4 * short_side**2) * rim_relief,
    "The force's unevenness, less that of the tent",
    source=_HERE,
    assumptions=(_THIN, _GUIDED, _SMALL_SEAT),
)
SUBJECT.relation(
    "four_clamped", four_clamped_stiffness,
    flexural_rigidity / (
        clamped_coefficient * short_side**2
        - _d**2 / (64 * pi) * (1 + 16 * clamped_radius**2 * _ln_clamped**2 / _GAP + 2 * seated_clamped_share**2)
    ),
    "Clamped rectangle under a point force, less what the seat holds flat", source=_HERE,
    assumptions=(_THIN, _GUIDED, _EDGES, _SMALL_SEAT), valid=(_THICK_RECTANGLE, _CORNER),
)  # fmt: skip
clamped_seat_stress = SUBJECT.equals(
    "clamped_seat_stress",
    "sigma_cs",
    "MPa",
    "stress at the seat of a clamped rectangle at design thrust",
    _PEAK / (4 * pi) * (8 * clamped_radius**2 * _ln_clamped / _GAP - 1 + 2 * seated_clamped_share),
    "Bending stress along the radius, at the seat",
    source=_HERE,
    assumptions=(_THIN, _GUIDED, _EDGES, _SMALL_SEAT),
    valid=(_CORNER,),
)
clamped_edge_stress = SUBJECT.equals(
    "clamped_edge_stress",
    "sigma_ce",
    "MPa",
    "stress at the middle of the long clamped edge at design thrust",
    _PEAK * edge_moment * (1 - rim_relief),
    "Bending stress across the edge",
    source=_HERE,
    assumptions=(_THIN, _GUIDED, _EDGES, _SMALL_SEAT, "the seat takes off the edge what it takes off a round rim"),
    valid=(_CORNER,),
)
SUBJECT.relation(
    "four_clamped_stress", four_clamped_stress, largest(clamped_seat_stress, clamped_edge_stress),
    "The larger of the two", source=_DEFINITION,
)  # fmt: skip
SUBJECT.model(
    "strip", (plate_span, plate_width, seat_diameter),
    (strip_deflection_factor, strip_stress_factor, strip_shear_reach), strip_factors,
    "A strip with a seat in its middle against a wide beam, by finite elements", source=_HERE,
    assumptions=(_THIN, _GUIDED, "Poisson's ratio 0.3; others change it by 2 %"), valid=(_SEAT_RANGE, _WIDTH_RANGE),
)  # fmt: skip
SUBJECT.relation(
    "two_edges", two_edges_stiffness,
    48 * flexural_rigidity * plate_width / (strip_deflection_factor * plate_span**3),
    "A wide beam on two supports, corrected for the seat and the free sides", source=_HERE,
    assumptions=(_THIN, "both edges rest and may tilt"), valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "two_edges_stress", two_edges_stress, _PEAK * strip_stress_factor * plate_span / (4 * plate_width),
    "Bending stress of a wide beam at mid-span, raised at the seat", source=_HERE,
    assumptions=(_THIN, "both edges rest and may tilt"),
)  # fmt: skip
SUBJECT.model(
    "bolts", (plate_span, seat_diameter, bolt_head_diameter),
    (bolts_deflection_coefficient, bolts_stress_coefficient, bolts_shear_reach), bolt_coefficients,
    "A square plate held flat under four bolt heads, by finite elements", source=_HERE,
    assumptions=(_THIN, _GUIDED, _OVERHANG, "heads hold the plate flat on firm faces", "Poisson's ratio 0.3"),
    valid=(_SEAT_RANGE, _HEAD_RANGE),
)  # fmt: skip
SUBJECT.relation(
    "four_bolts", four_bolts_stiffness, flexural_rigidity / (bolts_deflection_coefficient * plate_span**2),
    "A square plate on four bolts", source=_HERE, assumptions=(_THIN, _GUIDED, _OVERHANG), valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "four_bolts_stress", four_bolts_stress, bolts_stress_coefficient * design_thrust / plate_thickness**2,
    "Peak stress at the seat or at the heads, whichever is larger", source=_HERE, assumptions=(_THIN, _GUIDED),
)  # fmt: skip
SUBJECT.model(
    "posts", (plate_span, seat_diameter),
    (posts_deflection_coefficient, posts_stress_coefficient, posts_shear_reach), post_coefficients,
    "A square plate held at four points that tilt with it, by finite elements", source=_HERE,
    assumptions=(
        _THIN, _GUIDED, _OVERHANG, "posts hold points of the plate and tilt freely",
        "where the plate shears, posts measure a tenth of the span", "Poisson's ratio 0.3",
    ),
    valid=(_SEAT_RANGE,),
)  # fmt: skip
SUBJECT.relation(
    "four_posts", four_posts_stiffness, flexural_rigidity / (posts_deflection_coefficient * plate_span**2),
    "A square plate on four posts", source=_HERE, assumptions=(_THIN, _GUIDED, _OVERHANG), valid=(_THICK,),
)  # fmt: skip
SUBJECT.relation(
    "four_posts_stress", four_posts_stress, posts_stress_coefficient * design_thrust / plate_thickness**2,
    "Peak stress at the seat", source=_HERE, assumptions=(_THIN, _GUIDED),
)  # fmt: skip
SUBJECT.select(
    "bending", plate_bending_stiffness, plate_support,
    {
        CLAMPED: round_clamped_stiffness, SUPPORTED: round_supported_stiffness,
        LOOSE_CLAMPED: loose_clamped_stiffness, LOOSE_SUPPORTED: loose_supported_stiffness,
        TWO_EDGES: two_edges_stiffness,
        FOUR_EDGES: four_edges_stiffness, FOUR_CLAMPED: four_clamped_stiffness,
        FOUR_BOLTS: four_bolts_stiffness, FOUR_POSTS: four_posts_stiffness,
    },
    "The bending stiffness of the plate built",
)  # fmt: skip
SUBJECT.select(
    "stress", plate_stress, plate_support,
    {
        CLAMPED: round_clamped_stress, SUPPORTED: round_supported_stress,
        LOOSE_CLAMPED: loose_clamped_stress, LOOSE_SUPPORTED: loose_supported_stress,
        TWO_EDGES: two_edges_stress,
        FOUR_EDGES: four_edges_stress, FOUR_CLAMPED: four_clamped_stress,
        FOUR_BOLTS: four_bolts_stress, FOUR_POSTS: four_posts_stress,
    },
    "The peak stress of the plate built",
)  # fmt: skip
SUBJECT.relation(
    "round_reach", round_shear_reach, _ln, "Shear of a round plate between seat and rim", source=_HERE,
)  # fmt: skip
SUBJECT.model(
    "rectangle_reaches", (plate_span, plate_width, seat_diameter), (four_edges_shear_reach, four_clamped_shear_reach),
    rectangle_reaches, "Rectangles as round plates that shear as far, by finite elements", source=_HERE,
    assumptions=(_GUIDED, "the radius hardly depends on the seat", "Poisson's ratio 0.3"),
)  # fmt: skip
SUBJECT.select(
    "reach", shear_reach, plate_support,
    {
        CLAMPED: round_shear_reach, SUPPORTED: round_shear_reach,
        LOOSE_CLAMPED: round_shear_reach, LOOSE_SUPPORTED: round_shear_reach,
        TWO_EDGES: strip_shear_reach,
        FOUR_EDGES: four_edges_shear_reach, FOUR_CLAMPED: four_clamped_shear_reach,
        FOUR_BOLTS: bolts_shear_reach, FOUR_POSTS: posts_shear_reach,
    },
    "How far the plate built shears",
)  # fmt: skip
plate_shear_stiffness = SUBJECT.equals(
    "plate_shear_stiffness",
    "k_shear",
    "N/um",
    "stiffness of the plate against shear",
    5 * pi * plate_youngs_modulus * plate_thickness / (6 * (1 + plate_poisson_ratio) * shear_reach),
    "Shear of a plate under a force at its middle",
    short_id="shear",
    positive=True,
    source=_HERE,
    assumptions=("shear is five sixths as stiff as if it were even over the thickness (Reissner)",),
)
plate_stiffness = SUBJECT.equals(
    "plate_stiffness",
    "k_p",
    "N/um",
    "stiffness of the plate at the bearing's seat",
    1 / (1 / plate_bending_stiffness + 1 / plate_shear_stiffness),
    "Bending and shear are springs in series",
    short_id="stiffness",
    positive=True,
    source=_HERE,
)


design_plate_deflection = SUBJECT.result(
    "design_plate_deflection", "delta_design", "um", "deflection of the plate at design thrust"
)
bending_over_shear = SUBJECT.result(
    "bending_over_shear",
    "x_shear",
    "1",
    "bending stiffness of the plate over its stiffness against shear",
    positive=True,
)
plate_area = SUBJECT.result("plate_area", "A_p", "mm**2", "area of the plate as held", positive=True)

#: Share of the retraction volume that the dip may take and still be good; the margin and the needed thickness use it.
GOOD_SHARE = Rational(1, 10)
#: Share of the plate in how far the head gives way, below which a thicker plate hardly helps.
ENOUGH_SHARE = Rational(1, 10)

_SLOPE = (
    "springs give way in proportion to the thrust; of the bearing the slope at running thrust counts, its softer start "
    "is left out"
)
_UPPER = "the plug follows the screw over the whole section of the bore: an upper bound"
_SAME = "material, span, seat and supports stay as they are"


def _thickness_that_gives(compliance: Expr) -> Expr:
    """Return the thickness at which bending (with its cube) and shear together give as much as asked for.

    With y the present thickness over the new one, y^3 / k_bend + y / k_shear = compliance has one real root.
    """
    wanted = 3 * sqrt(3) / 2 * compliance * plate_bending_stiffness / bending_over_shear ** Rational(3, 2)
    return plate_thickness / (2 * sqrt(bending_over_shear / 3) * sinh(asinh(wanted) / 3))


plate_deflection = SUBJECT.equals(
    "plate_deflection",
    "delta_p",
    "um",
    "deflection of the plate at running thrust",
    running_thrust / plate_stiffness,
    "The plate while the screw runs",
    short_id="deflection",
    positive=True,
    source=_DEFINITION,
)
SUBJECT.relation(
    "design_deflection", design_plate_deflection, design_thrust / plate_stiffness, "The plate at its worst",
    source=_DEFINITION,
    valid=((
        design_plate_deflection < plate_thickness / 2,
        "the plate bends by more than half its thickness: it then also stretches, and is stiffer than computed here",
    ),),
)  # fmt: skip
plate_stress_share = SUBJECT.equals(
    "plate_stress_share",
    "x_sigma",
    "1",
    "peak stress at design thrust over yield strength",
    plate_stress / plate_yield_strength,
    "Stress over what the plate can bear",
    short_id="stress_share",
    source=_DEFINITION,
    valid=(_SEAT_ON_RING,),
    title="stress of the plate over yield",
)
screw_stiffness = SUBJECT.equals(
    "screw_stiffness",
    "k_s",
    "N/um",
    "stiffness of the screw's core against being pressed shorter",
    screw_youngs_modulus * pi * core_diameter**2 / (4 * flighted_length),
    "The core as a rod under the thrust at its tip",
    short_id="screw",
    positive=True,
    source=_HERE,
    assumptions=("all thrust enters at the tip and the flights stiffen nothing", "the shank does not give way"),
)
chain_compliance = SUBJECT.equals(
    "chain_compliance",
    "c_rest",
    "um/N",
    "how far all springs but the plate give way, for each newton",
    1 / bearing_stiffness + 1 / screw_stiffness + 1 / coupling_stiffness + 1 / frame_stiffness,
    "Springs in series: the distances by which they give way add up",
    short_id="chain",
    positive=True,
    source=_HERE,
    assumptions=(_SLOPE,),
)
head_stiffness = SUBJECT.equals(
    "head_stiffness",
    "k_head",
    "N/um",
    "stiffness of all springs of the head in series",
    1 / (1 / plate_stiffness + chain_compliance),
    "All springs in series",
    positive=True,
    source=_HERE,
    assumptions=(_SLOPE,),
)
plate_share = SUBJECT.equals(
    "plate_share",
    "x_plate",
    "percent",
    "share of the plate in how far the head gives way",
    head_stiffness / plate_stiffness,
    "How much of what gives way is the plate's",
    source=_DEFINITION,
)
screw_dip = SUBJECT.equals(
    "screw_dip",
    "delta_dip",
    "um",
    "how far the screw springs forward when its thrust is released",
    running_thrust / head_stiffness + end_play,
    "The springs let go, and the play closes",
    short_id="dip",
    source=_HERE,
    assumptions=(_SLOPE, "the screw falls through all of its play"),
    title="dip of the screw at a stop",
)
blocked_dip = SUBJECT.equals(
    "blocked_dip",
    "delta_block",
    "um",
    "how much further the screw gives way when the nozzle blocks at working speed",
    largest(0, blocked_thrust - running_thrust) / head_stiffness,
    "The thrust that comes on top, on all springs",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SLOPE,),
)
springback_volume = SUBJECT.equals(
    "springback_volume",
    "V_dip",
    "mm**3",
    "melt pushed out by the springing screw, at most",
    screw_dip * bore_section,
    "The screw as a piston in its bore",
    source=_HERE,
    assumptions=(_UPPER,),
    title="spring-back volume",
)
springback_over_retraction = SUBJECT.equals(
    "springback_over_retraction",
    "x_dip",
    "1",
    "volume of the dip over what the machine takes back",
    springback_volume / retraction_volume,
    "Blob against retraction",
    short_id="springback_share",
    source=_DEFINITION,
    title="spring-back over retraction",
    nonnegative=True,
)
melt_give = SUBJECT.result(
    "melt_give", "c_melt", "mm**3/MPa", "volume that the melt gives way for each pressure", positive=True
)
melt_springback = SUBJECT.equals(
    "melt_springback",
    "V_press",
    "mm**3",
    "what the squeezed melt pushes out when its pressure is released",
    melt_give * nozzle_pressure,
    "What the melt gave way under the pressure at the nozzle",
    source=_HERE,
    assumptions=("all of the melt stands under the pressure before the nozzle",),
)
melt_over_springs = SUBJECT.equals(
    "melt_over_springs",
    "x_press",
    "1",
    "what the squeezed melt gives back at a stop, over what the springing screw pushes out",
    melt_springback / springback_volume,
    "Melt against springs",
    source=_DEFINITION,
)
even_head_stiffness = SUBJECT.equals(
    "even_head_stiffness",
    "k_eq",
    "N/um",
    "stiffness of the head at which its springs give back as much as the squeezed melt",
    bore_section**2 / melt_give,
    "The melt as a spring behind a piston",
    positive=True,
    source=_HERE,
    assumptions=("the pressure alone makes the thrust; play and the wall's hold come on top of the springs",),
)
SUBJECT.relation(
    "bending_over_shear", bending_over_shear, plate_bending_stiffness / plate_shear_stiffness,
    "How much of a block the plate is", source=_DEFINITION,
)  # fmt: skip
plate_allowance = SUBJECT.equals(
    "plate_allowance",
    "delta_left",
    "um",
    "how far the plate may bend if the dip is to be good",
    GOOD_SHARE * retraction_volume / bore_section - end_play - running_thrust * chain_compliance,
    "What play and the other springs leave to the plate",
    short_id="allowance",
    source=_HERE,
    assumptions=(_SLOPE, _UPPER),
)
needed_plate_thickness = SUBJECT.equals(
    "needed_plate_thickness",
    "t_need",
    "mm",
    "thickness at which the dip is good; unlimited when the rest is too soft",
    Piecewise((oo, plate_allowance <= 0), (_thickness_that_gives(plate_allowance / running_thrust), True)),
    "Bending falls with the cube of the thickness, shear with the thickness itself",
    short_id="needed_thickness",
    source=_HERE,
    assumptions=(_SAME,),
)
enough_plate_thickness = SUBJECT.equals(
    "enough_plate_thickness",
    "t_enough",
    "mm",
    "thickness at which the plate makes up a tenth of all that gives way",
    _thickness_that_gives(chain_compliance * ENOUGH_SHARE / (1 - ENOUGH_SHARE)),
    "The same, with a tenth of all that gives way for the plate",
    short_id="enough_thickness",
    positive=True,
    source=_HERE,
    assumptions=(_SAME, _SLOPE),
)
round_area = SUBJECT.equals(
    "round_area",
    "A_round",
    "mm**2",
    "area of a round plate",
    pi * plate_span**2 / 4,
    "A disc",
    positive=True,
    source=_DEFINITION,
)
rectangle_area = SUBJECT.equals(
    "rectangle_area",
    "A_rect",
    "mm**2",
    "area of a rectangular plate",
    plate_span * plate_width,
    "A rectangle",
    positive=True,
    source=_DEFINITION,
)
bolted_area = SUBJECT.equals(
    "bolted_area",
    "A_bolt",
    "mm**2",
    "area of a square plate that reaches beyond its bolts",
    ((1 + 2 * Rational(str(OVERHANG))) * plate_span) ** 2,
    "A square that reaches beyond its bolts",
    positive=True,
    source=_DEFINITION,
)
SUBJECT.select(
    "area", plate_area, plate_support,
    {
        CLAMPED: round_area, SUPPORTED: round_area, LOOSE_CLAMPED: round_area, LOOSE_SUPPORTED: round_area,
        TWO_EDGES: rectangle_area, FOUR_EDGES: rectangle_area, FOUR_CLAMPED: rectangle_area,
        FOUR_BOLTS: bolted_area, FOUR_POSTS: bolted_area,
    },
    "The area of the plate built",
)  # fmt: skip
plate_mass = SUBJECT.equals(
    "plate_mass",
    "m_p",
    "g",
    "mass of the plate between its supports",
    plate_density * plate_area * plate_thickness,
    "Density times volume",
    short_id="mass",
    positive=True,
    source=_DEFINITION,
    assumptions=("the clamped rim would add to this, the hole for the screw take away",),
)
stiffness_over_mass = SUBJECT.equals(
    "stiffness_over_mass",
    "k_m",
    "N/um/kg",
    "stiffness of the plate for each kilogram of it",
    plate_stiffness / plate_mass,
    "Stiffness for each kilogram of plate",
    positive=True,
    source=_DEFINITION,
)

SUBJECT.margin(
    "springback_over_retraction",
    springback_over_retraction,
    good=float(GOOD_SHARE),
    limit=0.5,
    why="at a stop the screw springs forward and pushes out melt that the machine has just taken back: a blob, "
    "on top of what the squeezed melt gives back",
    advice="take the play out of the bearing first, then thicken the plate or shorten its span, up to the thickness "
    "that is enough; beyond it brace the frame, or take a wider nozzle",
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
