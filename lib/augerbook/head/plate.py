"""The plate behind the bearing and the frame that holds it."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("plate", number=7, title="Bearing plate")

CLAMPED, SUPPORTED = "annular, outer edge clamped", "annular, outer edge supported"
LOOSE_CLAMPED, LOOSE_SUPPORTED = CLAMPED + ", seat loose", SUPPORTED + ", seat loose"
TWO_EDGES, FOUR_EDGES, FOUR_CLAMPED = "two edges", "four edges", "four edges, clamped"
FOUR_BOLTS, FOUR_POSTS = "four bolts", "four posts"
plate_support = PART.choice(
    "plate_support",
    "how the plate is held",
    {
        CLAMPED: "a round plate whose rim cannot tilt: bolted all round to a thick ring",
        SUPPORTED: "a round plate that rests on its rim and may tilt there",
        LOOSE_CLAMPED: "as the first, but the ring of the bearing lies bare on the plate and does not keep it flat",
        LOOSE_SUPPORTED: "as the second, with the bearing's ring bare on the plate",
        TWO_EDGES: "a strip that rests on two bars, its other sides free",
        FOUR_EDGES: "a rectangle that rests on all four sides",
        FOUR_CLAMPED: "a rectangle whose four edges cannot tilt: bolted all round to a thick frame",
        FOUR_BOLTS: "a square plate on four bolts whose heads hold it flat on firm faces",
        FOUR_POSTS: "a square plate on four slender posts that tilt with it",
    },
)
plate_thickness = PART.given("plate_thickness", "t_p", "mm", "thickness of the plate", 0.5, 20, primary=True)
plate_span = PART.given(
    "plate_span",
    "l_p",
    "mm",
    "free diameter of a round plate, or distance between supports or bolts",
    10,
    200,
    primary=True,
)
plate_width = PART.given("plate_width", "w_p", "mm", "other side of a rectangular plate or strip", 10, 200)
seat_diameter = PART.given(
    "seat_diameter", "d_seat", "mm", "diameter over which the bearing's seat holds the plate flat", 2, 80
)
bolt_head_diameter = PART.given(
    "bolt_head_diameter", "d_head", "mm", "diameter of the heads or washers that hold the plate flat", 2, 30
)
plate_youngs_modulus = PART.given(
    "plate_youngs_modulus", "E_p", "GPa", "Young's modulus of the plate", 0.5, 250, title="Young's modulus of plate"
)
plate_poisson_ratio = PART.given(
    "plate_poisson_ratio", "nu_p", "1", "Poisson's ratio of the plate", 0.05, 0.48, title="Poisson's ratio of plate"
)
plate_density = PART.given("plate_density", "rho_p", "kg/m**3", "density of the plate", 800, 12_000)
plate_yield_strength = PART.given(
    "plate_yield_strength", "sigma_y", "MPa", "stress at which the plate stays bent", 5, 2000
)
frame_stiffness = PART.given(
    "frame_stiffness",
    "k_f",
    "N/um",
    "axial stiffness of what joins plate and nozzle: posts, frame, tube, block",
    0.5,
    2000,
)
plate_material = PART.lookup(
    "plate_material",
    "material of the plate",
    "materials",
    {
        plate_youngs_modulus: "youngs_modulus",
        plate_poisson_ratio: "poisson_ratio",
        plate_density: "density",
        plate_yield_strength: "yield_strength",
    },
    tells=((plate_yield_strength,),),
)
PART.require(seat_diameter, plate_span, "the bearing's seat must lie within the plate")
PART.require(seat_diameter, plate_width, "the bearing's seat must lie within the plate")
PART.require(bolt_head_diameter, plate_span, "the bolts must have room between them")
