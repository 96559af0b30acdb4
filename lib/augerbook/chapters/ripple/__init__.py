"""Ripple: few grains in a turn make the flow uneven, and what lies between inlet and nozzle evens out a part of it.

A stretch of the channel holds a countable number of grains, so that no two turns bring the same plastic, nor two parts
of a turn. What fuses at the same time is averaged, since each place gives up its voids meanwhile. What is stored under
pressure before the nozzle, squeezed melt and bent springs, passes on a mean over the last turns as well.
"""

from __future__ import annotations

from typing import NamedTuple

from sympy import Expr, Or, Piecewise, Rational, cos, exp, oo, pi, sin, sqrt

from augerbook.chapters.conveying import (
    RING_COMES_ALONG,
    angle_carried,
    angle_lining,
    bore_hold,
    cold_length,
    conveying_efficiency,
    efficiency_carried,
    efficiency_lining,
    plug_take,
    ring_take,
    solid_per_turn,
    speed_for_flow,
    tip_hold,
)
from augerbook.chapters.grains import grain_volume_ratio
from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt import fusing_time, local_exponent, melt_volume
from augerbook.chapters.operating import plug_pressure
from augerbook.chapters.plate import head_stiffness, melt_give
from augerbook.chapters.thrust import bore_section, nozzle_pressure, raise_arm
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.hopper import filling_order
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plastic import melt_compressibility
from augerbook.head.printing import (
    filling_swing,
    friction_swing,
    layer_height,
    line_width,
    pressure_swing,
    wanted_flow,
)
from augerbook.head.screw import major_diameter
from augerbook.head.tube import bore_diameter

SUBJECT = Subject(
    "ripple",
    number=7,
    title="Ripple in the line",
    question="How uneven is the printed line when a turn of the screw brings only a few dozen grains?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")


ripple = SUBJECT.result(
    "ripple",
    "C_line",
    "percent",
    "standard deviation of the flow at the nozzle over its mean, by counting noise",
    title="ripple by counting",
)

#: The unevenness that counts as good, in the margin and in `even_volume` alike.
GOOD = Rational(1, 10)

_INDEPENDENT = "what one stretch of the channel takes in has nothing to do with what its neighbours took in"
_POISSON = "grains come one by one, at random; order in the filling takes away the same share for all sizes"
_IN_ORDER = "the plastic moves on in the order it was taken in"
_SMALL = "waves are small, so that flow and pressure change in proportion"
_SOURCE = "the screw brings its plastic whatever the pressure: no melt slips back when the pressure rises"

pocket_grains = SUBJECT.equals(
    "pocket_grains",
    "n_eq",
    "1",
    "number of equal grains that would make a turn as uneven as the real mix does",
    solid_per_turn / grain_volume_ratio,
    "The turn counted in grains",
    nonnegative=True,
    source=_HERE,
    assumptions=(_POISSON,),
    valid=(
        (
            # A plug that slips brings nothing, whatever the grains: its own chapter says so.
            Or(solid_per_turn <= 0, solid_per_turn > grain_volume_ratio),
            "a usual grain holds more plastic than a turn brings: grains come one by one, and their passing is the "
            "rhythm of the line; sieve much finer",
        ),
    ),
)
pocket_noise = SUBJECT.equals(
    "pocket_noise",
    "C_turn",
    "percent",
    "standard deviation of the plastic of a turn over its mean, as taken in",
    filling_order / sqrt(pocket_grains),
    "Counting noise of grains of unequal size",
    source=Source("gy", "fundamental error of a sample of grains"),
    assumptions=(_POISSON, _INDEPENDENT),
    title="counting noise of a turn",
)
SUBJECT.relation(
    "melt_give", melt_give, melt_volume * melt_compressibility, "The melt as a spring",
    source=_HERE, assumptions=(_SMALL,),
)  # fmt: skip
spring_give = SUBJECT.equals(
    "spring_give",
    "c_head",
    "mm**3/MPa",
    "room that the bending head makes, for each pressure",
    bore_section**2 / head_stiffness,
    "The head as a spring behind a piston",
    positive=True,
    source=_HERE,
    assumptions=("the screw and its plug move back as a piston as wide as the bore",),
)
time_constant = SUBJECT.equals(
    "time_constant",
    "tau",
    "s",
    "time in which the flow at the nozzle makes up 63 % of a change",
    local_exponent * nozzle_pressure / melt_flow * (melt_give + spring_give),
    "What is stored, over what runs out more for each pressure",
    positive=True,
    source=_HERE,
    assumptions=(_SMALL, _SOURCE),
    title="time constant of the flow",
)
turns_held = SUBJECT.equals(
    "turns_held",
    "m",
    "1",
    "the time constant, counted in turns of the screw",
    speed_for_flow * time_constant,
    "The time constant in turns",
    source=_DEFINITION,
)
wave_share = SUBJECT.equals(
    "wave_share",
    "a_wave",
    "percent",
    "share of a wave with the rhythm of one turn that reaches the nozzle",
    1 / sqrt(1 + (2 * pi * turns_held) ** 2),
    "A wave through a filter of first order",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SMALL, "the wave is a sine with one period each turn"),
)
held_share = SUBJECT.equals(
    "held_share",
    "a_held",
    "percent",
    "counting noise that melt and springs alone would leave, over that of a turn",
    1 / sqrt(2 * turns_held),
    "Chance through the same filter",
    source=_HERE,
    assumptions=(_SMALL, _INDEPENDENT, _IN_ORDER),
)
fusing_turns = SUBJECT.equals(
    "fusing_turns",
    "M",
    "1",
    "turns of plastic that fuse at the same time",
    speed_for_flow * fusing_time,
    "The fusing time in turns",
    source=_DEFINITION,
    nonnegative=True,
)
fused_share = SUBJECT.equals(
    "fused_share",
    "a_fused",
    "percent",
    "counting noise that fusing alone would leave, over that of a turn",
    1 / sqrt(fusing_turns),
    "As many grains as fuse together",
    source=_HERE,
    assumptions=(_INDEPENDENT, _IN_ORDER, "a place in the plug closes its voids evenly over the fusing time"),
)
noise_share = SUBJECT.equals(
    "noise_share",
    "a_noise",
    "percent",
    "counting noise of the flow at the nozzle, over that of a turn",
    fused_share * sqrt(1 - turns_held / fusing_turns * (1 - exp(-fusing_turns / turns_held))),
    "Fusing first, then melt and springs",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SMALL, _INDEPENDENT, _IN_ORDER),
)
SUBJECT.relation(
    "ripple", ripple, pocket_noise * noise_share, "What the grains leave in the line", source=_DEFINITION,
    assumptions=("the screw does not mix the melt of different turns",),
    valid=((
        ripple < Rational(3, 10),
        "waves this large are no longer small: the figure only says that the line is bad; sieve finer",
    ),),
)  # fmt: skip
_SLOW = "changes are small, last for many turns, and have nothing to do with one another"


class _State(NamedTuple):
    """A plug that slides: on which circle and in which direction, how far ahead, with what hold, and what it takes."""

    diameter: Quantity
    angle: Quantity
    efficiency: Quantity
    hold: Quantity
    take: Expr

    @property
    def slope(self) -> Expr:
        """Radius of the circle over the arm of the thread."""
        return self.diameter / (2 * raise_arm)

    @property
    def give(self) -> Expr:
        """Share by which a turn brings more when what holds the plug back falls by the hold at its radius."""
        turned = sin(self.angle) * cos(self.angle) * (self.slope * sin(self.angle) + cos(self.angle))
        return (1 - self.efficiency) / turned

    @property
    def by_friction(self) -> Expr:
        """Share by which a turn brings more for the same share of friction on what the plug slides on."""
        return self.give * (self.slope * cos(self.angle) - sin(self.angle))

    @property
    def by_pressure(self) -> Expr:
        """Share by which a turn brings less for the same share of pressure."""
        return self.give * self.take * self.diameter / (2 * self.hold * cold_length)


_ALONG = _State(bore_diameter, angle_carried, efficiency_carried, bore_hold, plug_take + ring_take)
_BEHIND = _State(major_diameter, angle_lining, efficiency_lining, tip_hold, plug_take)


def _of_the_plug(along: Expr, behind: Expr) -> Piecewise:
    """Return what holds for the plug as it stands: without bounds once it slips."""
    return Piecewise((oo, conveying_efficiency <= 0), (along, RING_COMES_ALONG), (behind, True))


friction_give = SUBJECT.equals(
    "friction_give",
    "E_mu",
    "1",
    "how many per cent more plastic a turn brings for one per cent more friction where the plug slides",
    _of_the_plug(_ALONG.by_friction, _BEHIND.by_friction),
    "How the plug answers its friction",
    source=_HERE,
    assumptions=(_SLOW, "the plug presses what the nozzle asks for"),
    valid=((
        plug_pressure > nozzle_pressure / 2,
        "the screw itself pumps most of the pressure, so that the plug has less to press than is reckoned here: it "
        "answers friction and pressure by less, and the flow is more even than this says",
    ),),
)  # fmt: skip
pressure_give = SUBJECT.equals(
    "pressure_give",
    "E_P",
    "1",
    "how many per cent less plastic a turn brings for one per cent more pressure at the nozzle",
    _of_the_plug(_ALONG.by_pressure, _BEHIND.by_pressure),
    "How the plug answers the pressure",
    source=_HERE,
    assumptions=(_SLOW, "the pressure at the end of the plug changes as that at the nozzle"),
)
friction_part = SUBJECT.equals(
    "friction_part",
    "C_mu",
    "percent",
    "unevenness of the flow by friction that changes",
    friction_give * friction_swing,
    "What friction does to the flow",
    source=_DEFINITION,
)
pressure_part = SUBJECT.equals(
    "pressure_part",
    "C_P",
    "percent",
    "unevenness of the flow by pressure that changes",
    pressure_give * pressure_swing,
    "What pressure does to the flow",
    source=_DEFINITION,
)
unevenness = SUBJECT.equals(
    "unevenness",
    "C_all",
    "percent",
    "standard deviation of the flow over its mean, by counting, friction, filling and pressure together",
    sqrt(ripple**2 + friction_part**2 + filling_swing**2 + pressure_part**2),
    "Causes that have nothing to do with one another add up in squares",
    source=_HERE,
    assumptions=(_SLOW, "a turn brings in proportion to how full it is"),
    title="unevenness of the flow",
)
counting_share = SUBJECT.equals(
    "counting_share",
    "x_count",
    "percent",
    "share of counting in the square of the unevenness",
    (ripple / unevenness) ** 2,
    "Its part of the sum of squares",
    source=_DEFINITION,
    nonnegative=True,
)
line_section = SUBJECT.equals(
    "line_section",
    "S_l",
    "mm**2",
    "section of the printed line",
    layer_height * line_width - (1 - pi / 4) * layer_height**2,
    "A flat line with round edges",
    source=_HERE,
    assumptions=("the edges of the line are half circles",),
    valid=((
        line_width >= nozzle_diameter,
        "the line is narrower than the nozzle is wide: what comes out is wider than the line, or is pulled thin and "
        "tears; ask for a wider line or take a smaller nozzle",
    ),),
)  # fmt: skip
line_speed = SUBJECT.equals(
    "line_speed",
    "v_l",
    "mm/s",
    "speed along the line at the wanted flow",
    wanted_flow / line_section,
    "The flow laid down as a line",
    source=_DEFINITION,
)
turn_line = SUBJECT.equals(
    "turn_line",
    "lambda_turn",
    "mm",
    "printed line for each turn of the screw",
    line_speed / speed_for_flow,
    "How far the nozzle goes in a turn",
    nonnegative=True,
    source=_DEFINITION,
)
width_deviation = SUBJECT.equals(
    "width_deviation",
    "delta_w",
    "mm",
    "standard deviation of the width of the line",
    ripple * line_section / layer_height,
    "All of the change goes into the width",
    digits=2,
    source=_HERE,
    assumptions=("the nozzle keeps the height of the layer", "speed along the line stays the same"),
    title="deviation of the line's width",
)
even_volume = SUBJECT.equals(
    "even_volume",
    "V_even",
    "mm**3",
    "plastic over which counting noise, as taken in, comes down to 10 %",
    (filling_order / GOOD) ** 2 * grain_volume_ratio,
    "Enough grains to even out",
    positive=True,
    source=_HERE,
    assumptions=(_POISSON, _INDEPENDENT),
)
even_length = SUBJECT.equals(
    "even_length",
    "L_even",
    "mm",
    "printed line that takes this much plastic",
    even_volume / line_section,
    "The line that this plastic makes",
    source=_DEFINITION,
)

SUBJECT.margin(
    "unevenness", unevenness, good=float(100 * GOOD), limit=20,
    why="the line swells and thins: neighbouring lines leave gaps or pile up",
    advice="grind and sieve finer, as long as counting has the largest share and the flights still catch enough "
    "grains: grains half as large leave a third of its part, half the mesh alone not quite half; else mend the "
    "largest share: for the filling a longer opening and a stirred hopper, for friction a polished screw or a longer "
    "cold part, which steadies the plug",
    source=Source("judgement"),
)  # fmt: skip
