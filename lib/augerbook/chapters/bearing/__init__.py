"""The bearing that takes the thrust: static safety, life, end play and stiffness, by the kind of bearing.

Two kinds are sold for the purpose: deep-groove ball bearings, which lean on the flanks of their grooves under
thrust, and thrust ball bearings, whose balls stand upright between two washers. At the speed of a screw a bearing
hardly wears out; what counts is what it bears standing still, and how far the screw can move before it bears.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from sympy import Piecewise, Rational, acos, cos, pi, sin, sqrt

from augerbook.chapters.bearing.contact import contact_modulus, loaded_contact
from augerbook.chapters.bearing.standards import (
    RADIAL_FACTOR,
    RELATIVE_AXIAL_LOADS,
    interpolate_axial_factor,
    ratings_from_geometry,
)
from augerbook.chapters.thrust import bore_section, design_thrust, running_thrust
from augerbook.core.extremes import largest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.bearing import (
    axial_limit,
    axial_preload,
    ball_count,
    ball_diameter,
    bearing_kind,
    dynamic_factor,
    dynamic_rating,
    groove_ratio,
    mounting_play,
    pitch_circle_diameter,
    radial_clearance,
    radial_load,
    static_factor,
    static_rating,
)
from augerbook.head.drive import screw_speed

SUBJECT = Subject(
    "bearing",
    number=13,
    title="The bearing that takes the thrust",
    question="Will this bearing stand the thrust, and how far can the screw move in it?",
)
_HERE = Source("derived here")


static_rating_from_geometry = SUBJECT.result(
    "static_rating_from_geometry", "C_0_ISO", "N", "static rating by ISO 76 from the balls, beside the maker's"
)
dynamic_rating_from_geometry = SUBJECT.result(
    "dynamic_rating_from_geometry", "C_ISO", "N", "dynamic rating by ISO 281 from the balls, beside the maker's"
)
static_equivalent_load = SUBJECT.result(
    "static_equivalent_load",
    "P_0",
    "N",
    "static equivalent load at the larger of running and stall thrust",
    positive=True,
)
axial_share = SUBJECT.result(
    "axial_share",
    "x_a",
    "percent",
    "axial load at the larger thrust over the most that makers allow for this kind",
    title="thrust over the bearing's limit",
)
axial_factor = SUBJECT.result(
    "axial_factor", "Y", "1", "how much a newton of thrust counts for the life of a deep-groove bearing", positive=True
)
dynamic_equivalent_load = SUBJECT.result(
    "dynamic_equivalent_load", "P", "N", "dynamic equivalent load, running", positive=True
)
unseated_play = SUBJECT.result("unseated_play", "s_0", "mm", "axial play of the screw without a preload")
groove_contact_modulus = SUBJECT.result(
    "groove_contact_modulus", "K_dg", "GPa", "contact modulus of a deep-groove bearing", positive=True
)
thrust_contact_modulus = SUBJECT.result(
    "thrust_contact_modulus", "K_tb", "GPa", "contact modulus of a thrust ball bearing", positive=True
)
loaded_contact_angle = SUBJECT.result(
    "loaded_contact_angle", "alpha", "deg", "contact angle of a deep-groove bearing under the running load"
)
ball_approach = SUBJECT.result(
    "ball_approach", "s_b", "um", "how far a ball of a deep-groove bearing is pressed in, both races together"
)
thrust_ball_shift = SUBJECT.result(
    "thrust_ball_shift",
    "delta_tb",
    "um",
    "elastic shift of a thrust ball bearing under the running load",
    positive=True,
)
bearing_stiffness = SUBJECT.result(
    "bearing_stiffness", "k_b", "N/um", "axial stiffness of the bearing at the running load", positive=True
)


def _groove_modulus(ball: ArrayLike, circle: ArrayLike, groove: ArrayLike) -> NDArray[np.float64]:
    return contact_modulus(np.asarray(ball) / np.asarray(circle), groove)


def _thrust_modulus(groove: ArrayLike) -> NDArray[np.float64]:
    return contact_modulus(0.0, groove)


_PURE_THRUST = "thrust alone: all balls bear alike, side force is small beside it"
_HERTZ = "smooth elastic steel balls and races, rings that do not bend, contact patch small beside the ball (Hertz)"
_ONE_GROOVE = "both races have grooves of the same radius"
#: Shoulders are a sixth to a quarter of a ball high (from memory): a ball reaches them at 48 to 60 degrees, the edge of
#: its contact patch some degrees before (judgement).
_SHOULDER = pi / 4
_PRELOAD = "a preload, where there is one, is stronger than any pull of the screw on the bearing"

running_bearing_load = SUBJECT.equals(
    "running_bearing_load",
    "F_a",
    "N",
    "axial load on the bearing while the screw runs",
    running_thrust + axial_preload,
    "Thrust and spring press the same way",
    short_id="running_load",
    positive=True,
    source=_HERE,
    assumptions=("the spring pushes the screw back onto its bearing, as the thrust does",),
    valid=(
        (
            running_thrust > -axial_preload,
            "nothing presses the screw onto its bearing while it runs, and what is said of life, stiffness and dip is "
            "void: take a spring that presses harder than the wall pulls",
        ),
    ),
)
design_bearing_load = SUBJECT.equals(
    "design_bearing_load",
    "F_a_max",
    "N",
    "axial load on the bearing: the larger of the thrusts running and stalled with friction, and the spring",
    design_thrust + axial_preload,
    "The larger thrust and the spring",
    short_id="design_load",
    positive=True,
    source=_HERE,
    assumptions=("the spring pushes the screw back onto its bearing, as the thrust does",),
)
SUBJECT.model(
    "ratings_from_geometry", (static_factor, dynamic_factor, ball_count, ball_diameter),
    (static_rating_from_geometry, dynamic_rating_from_geometry), ratings_from_geometry,
    "The standards' ratings from the balls: C0 = f0 Z Dw^2 and C = 1.3 fc Z^(2/3) Dw^1.8, in N and mm",
    source=Source("iso281", "basic dynamic rating of ball bearings; static rating: ISO 76"),
    assumptions=("one row of balls", "contact across the axis (deep groove) or along it (thrust ball)"),
)  # fmt: skip
static_equivalent_deep_groove = SUBJECT.equals(
    "static_equivalent_deep_groove",
    "P_0_dg",
    "N",
    "static equivalent load of a deep-groove bearing at the larger thrust",
    largest(Rational(6, 10) * radial_load + Rational(5, 10) * design_bearing_load, radial_load),
    "Static equivalent load of a deep-groove bearing",
    short_id="static_deep_groove",
    source=Source("iso76", "static equivalent radial load"),
)
SUBJECT.select(
    "static_equivalent", static_equivalent_load, bearing_kind,
    {"deep groove": static_equivalent_deep_groove, "thrust ball": design_bearing_load},
    "The static equivalent load; of a thrust ball bearing it is the axial load itself (ISO 76)",
)  # fmt: skip
static_safety = SUBJECT.equals(
    "static_safety",
    "S_0",
    "1",
    "static rating over static equivalent load at the larger of running and stall thrust",
    static_rating / static_equivalent_load,
    "Static safety",
    positive=True,
    source=Source("iso76", "static safety factor"),
    title="static safety of the bearing",
)
axial_share_deep_groove = SUBJECT.equals(
    "axial_share_deep_groove",
    "x_dg",
    "percent",
    "axial load at the larger thrust over the share of the static rating that makers allow",
    design_bearing_load / (axial_limit * static_rating),
    "The makers' bound for thrust on a deep-groove bearing: half the static rating, a quarter for small ones",
    short_id="share_deep_groove",
    source=Source("skf_loads", "axial load carrying capacity"),
)
axial_share_thrust_ball = SUBJECT.equals(
    "axial_share_thrust_ball",
    "x_tb",
    "percent",
    "axial load at the larger thrust over the static rating",
    design_bearing_load / static_rating,
    "A thrust ball bearing is made for its full static rating",
    short_id="share_thrust_ball",
    source=Source("definition"),
    valid=(
        (
            radial_load <= running_bearing_load / 10,
            "a thrust ball bearing takes no side force; with more than a tenth of the thrust from the side (judgement) "
            "its washers shift: guide the screw with a small radial bearing beside it",
        ),
    ),
)
SUBJECT.select(
    "axial_share", axial_share, bearing_kind,
    {"deep groove": axial_share_deep_groove, "thrust ball": axial_share_thrust_ball},
    "How much of the allowed axial load is used",
)  # fmt: skip
relative_axial_load = SUBJECT.equals(
    "relative_axial_load",
    "w",
    "1",
    "relative axial load, running, with the factor of ISO 76",
    static_factor * running_bearing_load / static_rating,
    "The relative axial load that selects the thrust factor",
    positive=True,
    source=Source("iso281", "Table 3"),
)
SUBJECT.model(
    "axial_factor", (relative_axial_load,), (axial_factor,), interpolate_axial_factor,
    "The thrust factor, read between the rows of the standard's table", source=Source("iso281", "Table 3"),
    assumptions=("normal clearance",),
    valid=((
        relative_axial_load <= RELATIVE_AXIAL_LOADS[-1],
        "the standard's table ends at a relative axial load of 6.89: the thrust is too much for a deep-groove bearing "
        "of this size, and its last factor is used",
    ),),
)  # fmt: skip
dynamic_equivalent_deep_groove = SUBJECT.equals(
    "dynamic_equivalent_deep_groove",
    "P_dg",
    "N",
    "dynamic equivalent load of a deep-groove bearing, running",
    largest(RADIAL_FACTOR * radial_load + axial_factor * running_bearing_load, radial_load),
    "Dynamic equivalent load of a deep-groove bearing",
    short_id="dynamic_deep_groove",
    source=Source("iso281", "Table 3"),
    assumptions=("the larger of the two branches; the standard changes over at Fa / Fr = e, within 1 % of it",),
)
SUBJECT.select(
    "dynamic_equivalent", dynamic_equivalent_load, bearing_kind,
    {"deep groove": dynamic_equivalent_deep_groove, "thrust ball": running_bearing_load},
    "The dynamic equivalent load; of a thrust ball bearing it is the axial load itself (ISO 281)",
)  # fmt: skip
bearing_life = SUBJECT.equals(
    "bearing_life",
    "L_10h",
    "h",
    "hours that nine of ten bearings outlast, running",
    1_000_000 / screw_speed * (dynamic_rating / dynamic_equivalent_load) ** 3,
    "The rating life in hours",
    short_id="life",
    positive=True,
    source=Source("iso281", "basic rating life"),
    assumptions=("clean, lubricated, cool, fastened well: what ends most small bearings is dirt",),
    valid=(
        (
            dynamic_equivalent_load <= dynamic_rating / 2,
            "ISO 281 does not hold for equivalent loads above half the dynamic rating",
        ),
    ),
    title="life of the bearing",
)
groove_distance = SUBJECT.equals(
    "groove_distance",
    "A_g",
    "mm",
    "distance of the grooves' centres when the balls just touch",
    (2 * groove_ratio - 1) * ball_diameter,
    "The distance of the grooves' centres",
    positive=True,
    source=_HERE,
    assumptions=(_ONE_GROOVE,),
)
free_contact_angle = SUBJECT.equals(
    "free_contact_angle",
    "alpha_0",
    "deg",
    "contact angle of a deep-groove bearing that is just seated",
    acos(1 - radial_clearance / (2 * groove_distance)),
    "The contact angle to which clearance lets the balls lean",
    short_id="free_angle",
    source=_HERE,
    assumptions=(_ONE_GROOVE,),
)
groove_play = SUBJECT.equals(
    "groove_play",
    "s_g",
    "mm",
    "axial play inside a deep-groove bearing, from end to end",
    2 * groove_distance * sin(free_contact_angle),
    "Radial clearance turned into axial play",
    source=_HERE,
    assumptions=(_ONE_GROOVE, "no force, no deformation"),
)
deep_groove_end_play = SUBJECT.equals(
    "deep_groove_end_play",
    "s_dg",
    "mm",
    "axial play of a deep-groove bearing with its mounting",
    groove_play + mounting_play,
    "Play in the bearing and round it",
    source=Source("definition"),
)
SUBJECT.select(
    "unseated_play", unseated_play, bearing_kind,
    {"deep groove": deep_groove_end_play, "thrust ball": mounting_play},
    "The play when nothing presses the bearing together; loose washers have that of the mounting alone",
)  # fmt: skip
end_play = SUBJECT.equals(
    "end_play",
    "s_end",
    "mm",
    "axial play of the screw as built",
    Piecewise((0, axial_preload > 0), (unseated_play, True)),
    "A preload takes the play away",
    source=_HERE,
    assumptions=(_PRELOAD,),
)
end_play_volume = SUBJECT.equals(
    "end_play_volume",
    "V_end",
    "mm**3",
    "melt that the screw displaces when it crosses its end play",
    end_play * bore_section,
    "What the play stores",
    source=_HERE,
    assumptions=("the plug follows the screw over its whole section: an upper bound",),
    title="melt displaced by the end play",
)
SUBJECT.model(
    "groove_contact", (ball_diameter, pitch_circle_diameter, groove_ratio), (groove_contact_modulus,), _groove_modulus,
    "A ball between the grooves of two rings: Q = K Dw^2 (s / Dw)^(3/2)",
    source=Source("johnson_contact", "section 4.2, elliptical contact"),
    assumptions=(_HERTZ, _ONE_GROOVE, "the curvature of the races is that of contact across the axis"),
)  # fmt: skip
SUBJECT.model(
    "thrust_contact", (groove_ratio,), (thrust_contact_modulus,), _thrust_modulus,
    "A ball between the grooves of two washers: Q = K Dw^2 (s / Dw)^(3/2)",
    source=Source("johnson_contact", "section 4.2, elliptical contact"),
    assumptions=(_HERTZ, _ONE_GROOVE, "washers with grooves, lying flat on a stiff seat"),
)  # fmt: skip
SUBJECT.model(
    "loaded_contact",
    (running_bearing_load, ball_count, ball_diameter, groove_contact_modulus, groove_distance, free_contact_angle),
    (loaded_contact_angle, ball_approach), loaded_contact,
    "Balance of a deep-groove bearing under thrust: Fa = Z Q sin(alpha), cos(alpha) = A cos(alpha0) / (A + s)",
    source=_HERE, assumptions=(_PURE_THRUST, _HERTZ, "the ball stays in the groove and does not reach its shoulder"),
    valid=((
        loaded_contact_angle <= _SHOULDER,
        "the balls lean so far that they reach the shoulders of their grooves, which this does not count: take a "
        "bearing with less clearance or a larger one, or an angular-contact or thrust bearing",
    ),),
)  # fmt: skip
deep_groove_shift = SUBJECT.equals(
    "deep_groove_shift",
    "delta_dg",
    "um",
    "elastic shift of a deep-groove bearing under the running load",
    groove_distance * sin(loaded_contact_angle - free_contact_angle) / cos(loaded_contact_angle),
    "The shift that belongs to the change of angle",
    source=_HERE,
    assumptions=(_PURE_THRUST,),
)
deep_groove_stiffness = SUBJECT.equals(
    "deep_groove_stiffness",
    "k_dg",
    "N/um",
    "stiffness of a deep-groove bearing at the running load",
    ball_count
    * groove_contact_modulus
    * sqrt(ball_diameter)
    * (
        Rational(3, 2) * sqrt(ball_approach) * sin(loaded_contact_angle) ** 2
        + ball_approach ** Rational(3, 2) * cos(loaded_contact_angle) ** 3 / (groove_distance * cos(free_contact_angle))
    ),
    "Slope of load over shift of a deep-groove bearing",
    source=_HERE,
    assumptions=(_PURE_THRUST, _HERTZ),
)
SUBJECT.relation(
    "thrust_ball_shift", thrust_ball_shift,
    ball_diameter
    * (running_bearing_load / (ball_count * thrust_contact_modulus * ball_diameter**2)) ** Rational(2, 3),
    "All balls pressed alike", source=_HERE, assumptions=(_HERTZ, "the load is centred"),
)  # fmt: skip
thrust_ball_stiffness = SUBJECT.equals(
    "thrust_ball_stiffness",
    "k_tb",
    "N/um",
    "stiffness of a thrust ball bearing at the running load",
    Rational(3, 2) * running_bearing_load / thrust_ball_shift,
    "Slope of load over shift of a thrust ball bearing",
    positive=True,
    source=_HERE,
    assumptions=(_HERTZ, "the load is centred"),
)
SUBJECT.select(
    "stiffness", bearing_stiffness, bearing_kind,
    {"deep groove": deep_groove_stiffness, "thrust ball": thrust_ball_stiffness},
    "The stiffness of the bearing built in",
)  # fmt: skip

SUBJECT.margin(
    "static_safety",
    static_safety,
    good=2.0,
    limit=1.0,
    why="below 1 a stalled motor presses dents into the races, and the bearing runs rough ever after",
    advice="take a larger bearing, or of thrust ball bearings one with grooved washers; or limit the current of the "
    "motor",
    source=Source("common practice", "good from 2; at 1 ISO 76 expects a set of a ten-thousandth of the ball"),
)
SUBJECT.margin(
    "axial_share",
    axial_share,
    good=50.0,
    limit=100.0,
    why="too much thrust dents the races; in a deep-groove bearing it first drives the balls up towards the shoulders "
    "of their grooves",
    advice="take a larger bearing; for its size a thrust ball bearing with grooved washers bears most, with a small "
    "radial bearing beside it",
    source=Source("skf_loads", "half of C0; a quarter for bores up to 12 mm and light series"),
)
