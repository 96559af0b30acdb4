"""The bearing that takes the thrust of the screw, and its seat."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("bearing", number=6, title="Thrust bearing")

friction_collar = PART.given(
    "friction_collar",
    "mu_b",
    "1",
    "friction of the bearing that takes the thrust",
    0.001,
    0.3,
    title="friction of the bearing",
)
collar_diameter = PART.given(
    "collar_diameter", "d_b", "mm", "mean diameter at which the bearing rubs; the pitch circle of a ball bearing", 2, 60
)
bearing_kind = PART.choice(
    "bearing_kind",
    "kind of bearing that takes the thrust",
    {
        "deep groove": "takes thrust both ways and side force; has play",
        "thrust ball": "takes thrust one way only and no side force; its washers lie loose",
    },
)
static_rating = PART.given("static_rating", "C_0", "N", "static rating on the maker's sheet", 20, 50_000)
dynamic_rating = PART.given("dynamic_rating", "C", "N", "dynamic rating on the maker's sheet", 50, 50_000)
bearing_bore = PART.given("bearing_bore", "d_i", "mm", "bore of the bearing", 2, 30)
bearing_outside_diameter = PART.given("bearing_outside_diameter", "d_o", "mm", "outside diameter of the bearing", 5, 60)
bearing_width = PART.given("bearing_width", "B", "mm", "width of the bearing, for a thrust bearing its height", 2, 25)
ball_count = PART.given("ball_count", "Z", "1", "number of balls", 4, 40)
ball_diameter = PART.given("ball_diameter", "D_w", "mm", "diameter of the balls", 0.5, 12, digits=4)
pitch_circle_diameter = PART.given(
    "pitch_circle_diameter", "D_pw", "mm", "diameter of the circle of the balls' centres", 3, 50
)
groove_ratio = PART.given(
    "groove_ratio", "r_g", "1", "radius of the grooves over the diameter of the balls, mean of both races", 0.505, 0.60
)
static_factor = PART.given(
    "static_factor", "f_0", "1", "factor of ISO 76 for this bearing, for newtons and millimetres", 5, 70
)
dynamic_factor = PART.given(
    "dynamic_factor", "f_c", "1", "factor of ISO 281 for this bearing, for newtons and millimetres", 20, 120
)
radial_clearance = PART.given(
    "radial_clearance", "G_r", "um", "radial clearance of a deep-groove bearing, from side to side", 0, 60
)
axial_limit = PART.given(
    "axial_limit", "x_max", "1", "most axial load that the maker allows, as a share of the static rating", 0.1, 1
)
radial_load = PART.given("radial_load", "F_r", "N", "side force on the bearing, of gear teeth or a belt", 0, 200)
axial_preload = PART.given(
    "axial_preload", "F_pre", "N", "force of a spring that keeps the bearing seated; zero without one", 0, 200
)
mounting_play = PART.given(
    "mounting_play", "s_m", "mm", "axial play of collar, circlips and seats, beside that inside the bearing", 0, 0.5
)
bearing = PART.lookup(
    "bearing",
    "a bearing of the tables",
    "bearings",
    {
        static_rating: "static_rating",
        dynamic_rating: "dynamic_rating",
        bearing_bore: "bore",
        bearing_outside_diameter: "outside_diameter",
        bearing_width: "width",
        ball_count: "ball_count",
        ball_diameter: "ball_diameter",
        pitch_circle_diameter: "pitch_circle_diameter",
        collar_diameter: "pitch_circle_diameter",
        static_factor: "f0",
        dynamic_factor: "fc",
        radial_clearance: "radial_clearance",
        axial_limit: "axial_limit",
    },
    sets={bearing_kind: "kind"},
    tells=(bearing_kind, (bearing_bore, bearing_outside_diameter, bearing_width)),
)
PART.require(bearing_bore, bearing_outside_diameter, "the rings of the bearing lie between them")
PART.require(ball_diameter, pitch_circle_diameter, "the balls stand in a circle round the shaft")
