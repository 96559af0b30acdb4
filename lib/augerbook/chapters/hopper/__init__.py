"""The hopper and the inlet: packing, settling, pressure, arches, and how full a flight leaves the opening.

The screw takes a volume each turn. How much plastic that is depends on how densely the granules lie where it takes
them, so that a hopper that settles makes the flow drift. The head of granules above hardly presses: the wall carries
it. What stops the flow is an arch, and whether one holds depends on the outlet against the largest grain, and on the
cohesion of the dust.
"""

from __future__ import annotations

from scipy import constants
from sympy import Float, Integer, Piecewise, Rational, asin, exp, pi, sqrt

from augerbook.chapters.grains import grain_median, grain_spread, largest_grain
from augerbook.chapters.screw import net_volume
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.extremes import largest, smallest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import screw_speed
from augerbook.head.feedstock import cohesion_exponent, cohesion_scale, loose_density, solid_density, tapped_density
from augerbook.head.hopper import (
    SLOT,
    STEPPED,
    STILL,
    STIRRED,
    cup_diameter,
    fill_height,
    flow_factor,
    friction_hopper,
    hopper_diameter,
    hopper_half_angle,
    hopper_stirring,
    hopper_stress_ratio,
    inlet_kind,
    inlet_length,
    inlet_turning,
    outlet_diameter,
    settling_time,
    slot_width,
)
from augerbook.head.printing import time_since_filling
from augerbook.head.screw import core_diameter, pitch
from augerbook.head.tube import bore_diameter

SUBJECT = Subject(
    "hopper",
    number=4,
    title="The hopper and the inlet",
    question="Do the granules come down evenly, and does every flight leave the inlet full?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_JANSSEN = Source("janssen", "slice balance")
_TUTORIAL = Source("hopper_tutorial", "question 1")


gravity = SUBJECT.result("gravity", "g_n", "m/s**2", "standard acceleration of free fall", digits=4, positive=True)
feed_drift = SUBJECT.result("feed_drift", "x_feed", "percent", "rise of the flow by settling, this hopper")
outlet_needed = SUBJECT.result("outlet_needed", "D_need", "mm", "outlet needed, this hopper", positive=True)
inlet_opening = SUBJECT.result("inlet_opening", "w_in", "mm", "narrow side of the opening above the screw")
inlet_share = SUBJECT.result("inlet_share", "x_in", "1", "share of a turn during which a place lies open")
flight_fill = SUBJECT.result(
    "flight_fill", "F_in", "percent", "how full a flight leaves the inlet, against the loose bed",
    title="filling of the flights",
)  # fmt: skip

_VOLUME = "the screw takes the same volume each turn, however densely the granules lie"
_SETTLING = "shaking closes the same share of what is left to settle in each minute"
_LOOSENS = "granules do not loosen again on their way down to the screw, so that this is an upper bound"
_SLICE = "pressure is the same all over a level slice, and the wall rubs with all the friction it has"
_ROUND = "the outlet is round"
_FREE = "nothing stands in the outlet; in a stepped bore the screw does: there the inlet ratio of the ring decides"
_TURNING = "loose granules turn at the same share of the screw's speed all along the opening"
_NO_SLIP = "flanks push loose granules ahead as far as they do not turn with the screw"
_TIME = "a place lies open for longer than a grain takes to fall to the core, as it does up to some 500 1/min"
#: As steep as a cone must be for mass flow, at the least: what smooth walls allow.
_STEEP = (
    hopper_half_angle <= pi / 6,
    "a cone flatter than about 30° from vertical moves only in the middle: there dust can leave an empty pipe "
    "standing, a rathole, above an outlet that no arch spans, and no wire at the outlet reaches it. Make the walls "
    "steeper, or sieve the dust out",
)


def _standard_gravity() -> float:
    return float(constants.g)


SUBJECT.model(
    "gravity", (), (gravity,), _standard_gravity, "The standard acceleration of free fall",
    source=Source("definition", "as scipy.constants has it"),
)  # fmt: skip
hausner_ratio = SUBJECT.equals(
    "hausner_ratio",
    "H_R",
    "1",
    "tapped over loose density",
    tapped_density / loose_density,
    "Tapped over loose",
    positive=True,
    source=Source("usp1174", "Compressibility Index and Hausner Ratio"),
    title="Hausner ratio",
)
compressibility_index = SUBJECT.equals(
    "compressibility_index",
    "C_I",
    "percent",
    "share of the loose volume that tapping takes away",
    1 - loose_density / tapped_density,
    "What tapping takes away",
    source=Source("usp1174", "Compressibility Index and Hausner Ratio"),
)
void_share = SUBJECT.equals(
    "void_share",
    "epsilon",
    "1",
    "share of air in the loose bed",
    1 - loose_density / solid_density,
    "Air in the bed",
    source=_DEFINITION,
)
drift_settled = SUBJECT.equals(
    "drift_settled",
    "x_max",
    "percent",
    "most that the flow rises once the hopper has settled for good",
    hausner_ratio - 1,
    "The flow follows the density",
    source=_HERE,
    assumptions=(_VOLUME, _LOOSENS, "all of the hopper settles as far as the tapped cup"),
)
drift_still = SUBJECT.equals(
    "drift_still",
    "x_still",
    "percent",
    "most that the flow has risen by now, nothing stirred",
    drift_settled * (1 - exp(-time_since_filling / settling_time)),
    "Settling since the filling",
    source=_HERE,
    assumptions=(_VOLUME, _SETTLING, _LOOSENS, "nothing is refilled meanwhile"),
    title="drift while the hopper settles",
)
drift_stirred = SUBJECT.equals(
    "drift_stirred",
    "x_stir",
    "percent",
    "rise of the flow from one sweep of the wire to the next",
    drift_settled * (1 - exp(-1 / (screw_speed * settling_time))),
    "Settling between two sweeps",
    source=_HERE,
    assumptions=(_VOLUME, _SETTLING, "each sweep of the wire loosens the granules at the outlet all the way"),
)
SUBJECT.select(
    "feed_drift", feed_drift, hopper_stirring, {STILL: drift_still, STIRRED: drift_stirred}, "Drift of this hopper"
)
janssen_depth = SUBJECT.equals(
    "janssen_depth",
    "lambda",
    "mm",
    "depth over which the wall takes up the weight",
    hopper_diameter / (4 * friction_hopper * hopper_stress_ratio),
    "How deep the weight is felt",
    positive=True,
    source=_JANSSEN,
    assumptions=(_SLICE,),
)
janssen_limit = SUBJECT.equals(
    "janssen_limit",
    "P_lim",
    "Pa",
    "pressure that no depth of this hopper exceeds",
    loose_density * gravity * janssen_depth,
    "The pressure of a deep filling",
    positive=True,
    source=_JANSSEN,
    assumptions=(_SLICE,),
)
hopper_pressure = SUBJECT.equals(
    "hopper_pressure",
    "P_h",
    "Pa",
    "pressure at the bottom of the filling",
    janssen_limit * (1 - exp(-fill_height / janssen_depth)),
    "The pressure at the bottom of the filling",
    positive=True,
    source=_JANSSEN,
    assumptions=(_SLICE, "the hopper is as wide below as above"),
)
outlet_pressure = SUBJECT.equals(
    "outlet_pressure",
    "P_out",
    "Pa",
    "most that a pipe as wide as the outlet lets through to the screw",
    janssen_limit * outlet_diameter / hopper_diameter,
    "The limit in a pipe as wide as the outlet",
    positive=True,
    source=_JANSSEN,
    assumptions=(_SLICE, "the pipe is longer than a few of its diameters and as rough as the hopper"),
)
head_share = SUBJECT.equals(
    "head_share",
    "x_P",
    "percent",
    "pressure of the filling over that at the nozzle",
    hopper_pressure / nozzle_pressure,
    "The filling against the nozzle",
    digits=2,
    positive=True,
    source=_DEFINITION,
)
gravity_flow = SUBJECT.equals(
    "gravity_flow",
    "W_out",
    "g/s",
    "granules that run out of the open outlet",
    Float("0.58")
    * loose_density
    * sqrt(gravity)
    * largest(0, outlet_diameter - Float("1.4") * largest_grain) ** Rational(5, 2),
    "Free discharge of coarse granules",
    source=Source("beverloo", "C = 0.58, k = 1.4"),
    assumptions=(_ROUND, _FREE, "grains do not stick and are coarser than half a millimetre", "no arch holds"),
)
screw_intake = SUBJECT.equals(
    "screw_intake",
    "W_screw",
    "g/s",
    "most that the screw can take",
    loose_density * net_volume * screw_speed,
    "The most that the screw takes",
    source=_HERE,
    assumptions=(_VOLUME, "flights are full and granules move a full pitch each turn"),
)
gravity_reserve = SUBJECT.equals(
    "gravity_reserve",
    "R_W",
    "1",
    "what the outlet lets out over what the screw takes",
    gravity_flow / screw_intake,
    "Outlet against screw",
    source=_DEFINITION,
)
outlet_ratio = SUBJECT.equals(
    "outlet_ratio",
    "n_out",
    "1",
    "outlet over the largest grain",
    outlet_diameter / largest_grain,
    "Outlet over grain",
    positive=True,
    source=_DEFINITION,
    title="outlet over the largest grain",
)
critical_strength = SUBJECT.equals(
    "critical_strength",
    "sigma_c",
    "Pa",
    "strength of the bed at which an arch just holds",
    cohesion_scale * flow_factor ** (cohesion_exponent / (1 - cohesion_exponent)),
    "Where strength and stress in the arch meet",
    positive=True,
    source=_TUTORIAL,
    assumptions=("the strength of a lump is a power of the pressing that made it",),
)
#: The width over which dust of this strength carries its own weight; an arch spans a multiple of it.
_CARRIED = critical_strength / (loose_density * gravity)
card_hole = SUBJECT.equals(
    "card_hole",
    "B_card",
    "mm",
    "hole in a card that sticking dust just bridges",
    2 * _CARRIED,
    "The span at which the arch over a flat card breaks",
    positive=True,
    source=_HERE,
    assumptions=(
        "the stress is the same all along the arch",
        "dust over the card was pressed as hard as in the hopper",
    ),
)
cohesive_outlet = SUBJECT.equals(
    "cohesive_outlet",
    "B_c",
    "mm",
    "outlet that an arch of sticking dust cannot span",
    (2 + hopper_half_angle / (pi / 3)) * _CARRIED,
    "The span at which the arch breaks",
    positive=True,
    source=_TUTORIAL,
    assumptions=(_ROUND, "the hopper empties all over (mass flow), so that no older lump rests in it"),
    valid=(_STEEP,),
)
needed_still = SUBJECT.equals(
    "needed_still",
    "D_still",
    "mm",
    "outlet needed when nothing stirs",
    largest(5 * largest_grain, cohesive_outlet),
    "What keeps both kinds of arch away",
    positive=True,
    source=Source("zuriguel", "beads no longer jam above 4.94 diameters"),
    assumptions=(_ROUND, _FREE, "grains are about as long as wide; splinters and flakes need more"),
)
needed_stirred = SUBJECT.equals(
    "needed_stirred",
    "D_stir",
    "mm",
    "outlet needed under a stirring wire",
    Float("2.5") * largest_grain,
    "What still lets grains by under a wire",
    positive=True,
    source=Source("judgement"),
    assumptions=(_ROUND, _FREE, "the wire passes within a grain of the outlet, every turn"),
    valid=(
        _STEEP,
        (
            cohesive_outlet < hopper_diameter,
            "the dust is so strong that it bridges the whole width of the hopper, above any wire at the outlet: sieve "
            "the dust out, or let the wire sweep the hopper up to the surface",
        ),
    ),
)
SUBJECT.select(
    "outlet_needed", outlet_needed, hopper_stirring, {STILL: needed_still, STIRRED: needed_stirred},
    "The outlet that this hopper needs",
)  # fmt: skip
outlet_reserve = SUBJECT.equals(
    "outlet_reserve",
    "R_out",
    "1",
    "outlet over the outlet needed",
    outlet_diameter / outlet_needed,
    "Reserve",
    positive=True,
    source=_DEFINITION,
    title="outlet over the outlet needed",
)
cup_opening = SUBJECT.equals(
    "cup_opening",
    "w_cup",
    "mm",
    "room between the screw's core and the wall of the cup",
    (smallest(cup_diameter, outlet_diameter) - core_diameter) / 2,
    "The gap about the screw in a stepped bore, or in a narrower outlet above it",
    source=_DEFINITION,
    assumptions=("in a stepped bore the hopper stands above the screw, which goes up through its outlet",),
)
slot_side = SUBJECT.equals(
    "slot_side",
    "w_side",
    "mm",
    "narrow side of the slot, across the tube or along it",
    smallest(slot_width, inlet_length),
    "A slot is as narrow as its shorter side",
    source=_DEFINITION,
)
SUBJECT.select("inlet_opening", inlet_opening, inlet_kind, {SLOT: slot_side, STEPPED: cup_opening}, "The narrow side")
inlet_ratio = SUBJECT.equals(
    "inlet_ratio",
    "n_in",
    "1",
    "narrow side of the opening over the largest grain",
    inlet_opening / largest_grain,
    "Opening over grain",
    source=_DEFINITION,
    title="opening over the largest grain",
)
slot_share = SUBJECT.equals(
    "slot_share",
    "x_slot",
    "1",
    "share of a turn during which a place lies open, slot",
    asin(smallest(1, largest(0, slot_width - largest_grain) / bore_diameter)) / pi,
    "The angle of the slot, less half a grain at each edge",
    source=_HERE,
    valid=(
        (
            slot_width <= bore_diameter,
            "a slot wider than the bore cuts the tube in two: make it narrower, or build a stepped bore",
        ),
    ),
)
cup_share = SUBJECT.equals(
    "cup_share",
    "x_cup",
    "1",
    "share of a turn during which a place lies open, stepped bore",
    Piecewise((Integer(1), cup_opening > largest_grain), (Integer(0), True)),
    "A cup is open all round, if a grain fits in",
    source=_HERE,
)
SUBJECT.select(
    "inlet_share", inlet_share, inlet_kind, {SLOT: slot_share, STEPPED: cup_share}, "The share of a turn in the open"
)
inlet_turns = SUBJECT.equals(
    "inlet_turns",
    "n_turn",
    "1",
    "turns that a flight stays under the opening",
    largest(0, inlet_length - largest_grain) / pitch,
    "The opening in pitches, less half a grain at each end",
    source=_HERE,
    assumptions=("a flight moves one pitch each turn",),
)
loose_turns = SUBJECT.equals(
    "loose_turns",
    "r_in",
    "1",
    "turns that loose granules make while they move on by one pitch",
    inlet_turning / (1 - inlet_turning),
    "What turns with the screw does not move on",
    positive=True,
    source=_HERE,
    assumptions=(_TURNING, _NO_SLIP),
)
SUBJECT.relation(
    "flight_fill",
    flight_fill,
    Piecewise(
        (smallest(1, inlet_share + loose_turns * inlet_turns), inlet_share * inlet_turns > 0), (Integer(0), True)
    ),
    "Places that lie open when they arrive, and those that come by while they are there",
    source=_HERE,
    assumptions=(_TURNING, _TIME, "no arch stands over the opening"),
    valid=(
        (
            flight_fill > 0,
            "no grain fits through the opening above the screw, and nothing comes: make both its sides wider than the "
            "largest grain, or sieve finer",
        ),
        (
            gravity_reserve >= 1,
            "the outlet lets out less than the screw takes, and flights leave emptier than this: widen the outlet, or "
            "sieve finer",
        ),
    ),
)
percolation_size = SUBJECT.equals(
    "percolation_size",
    "d_sift",
    "mm",
    "grains that fall through a resting bed of the largest",
    (2 / sqrt(Integer(3)) - 1) * largest_grain,
    "The gap between three touching grains",
    positive=True,
    source=_HERE,
    assumptions=("grains are balls that touch",),
)
fine_grain = SUBJECT.equals(
    "fine_grain",
    "x_10",
    "mm",
    "size that the finest tenth of the mass stays below, if the mix is lognormal",
    grain_median * exp(-Float("1.2816") * grain_spread),
    "The finest tenth",
    positive=True,
    source=_DEFINITION,
    assumptions=("about the median, the logarithm of size is spread like errors (normally)",),
)
size_ratio = SUBJECT.equals(
    "size_ratio",
    "r_d",
    "1",
    "finest tenth over the largest grain",
    fine_grain / largest_grain,
    "Fine over coarse",
    positive=True,
    source=_DEFINITION,
    valid=(
        (
            fine_grain > percolation_size,
            "a tenth of the mass is so fine that it falls through the resting bed of the largest grains: the first and "
            "the last of a filling differ; sieve the dust out",
        ),
    ),
)

SUBJECT.margin(
    "hausner_ratio", hausner_ratio, good=1.15, limit=1.25,
    why="granules that tapping packs much hold dust and flow badly; and in a hopper that nothing stirs the flow rises "
    "as it settles, by as much as tapping packs them",
    advice="sieve the dust out and measure both densities again; a hopper that is stirred all the time, or tapped down "
    "before the print and never during it, does not settle while it prints, whatever this ratio is",
    source=Source("usp1174", "Scale of Flowability: 1.15 lies in 'good', 1.25 ends 'fair'"),
)  # fmt: skip
SUBJECT.margin(
    "outlet_reserve", outlet_reserve, good=1.2, limit=1.0,
    why="an arch over the outlet starves the screw until something knocks it down",
    advice="widen the outlet, sieve finer where grains decide and not the dust, or let a bent wire turn in it with the "
    "screw",
    source=Source(
        "common practice",
        "outlet of 4 to 6 largest grains: six is 'good' where nothing stirs, five the limit; half of both under a wire "
        "is judgement",
    ),
)  # fmt: skip
SUBJECT.margin(
    "inlet_ratio", inlet_ratio, good=3, limit=2,
    why="grains bridge the opening above the screw faster than the flights pull the bridge down",
    advice="widen the opening, or sieve finer",
    source=Source("marinelli", "slots of 3 to 4 largest grains; the limit of 2 is judgement, as the screw stirs"),
)  # fmt: skip
SUBJECT.margin(
    "flight_fill", flight_fill, good=95, limit=80,
    why="a flight that leaves the inlet half empty brings half the plastic, and unevenly",
    advice="make a slot longer than four pitches and the largest grain together, and both its sides wide enough for "
    "grains to fall in, or widen the bore to a cup about the screw",
    source=Source("judgement"),
)  # fmt: skip
