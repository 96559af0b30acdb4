"""Ripple: few grains in a turn make the flow uneven, and what lies between inlet and nozzle evens out a part of it.

A turn brings a countable number of grains, so that no two turns bring the same plastic. Turns that fuse at the same
time are averaged, since each gives up its voids meanwhile. What is stored under pressure before the nozzle, squeezed
melt and bent springs, passes on a mean over the last turns as well.
"""

from __future__ import annotations

from sympy import Min, Piecewise, Rational, exp, pi, sqrt

from augerbook.chapters.conveying import solid_per_turn, speed_for_flow
from augerbook.chapters.grains import grain_volume_ratio
from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt import fusing_time, local_exponent, melt_volume
from augerbook.chapters.plate import head_stiffness
from augerbook.chapters.thrust import bore_section, nozzle_pressure
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.hopper import filling_order
from augerbook.head.plastic import melt_compressibility
from augerbook.head.printing import layer_height, line_width, wanted_flow

SUBJECT = Subject(
    "ripple",
    number=7,
    title="Ripple in the line",
    question="How uneven is the printed line when a turn of the screw brings only a few dozen grains?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")


pocket_grains = SUBJECT.result(
    "pocket_grains",
    "n_eq",
    "1",
    "equal grains that would make a turn's plastic as uneven as the real ones do",
    nonnegative=True,
)
pocket_noise = SUBJECT.result(
    "pocket_noise", "C_turn", "percent", "standard deviation of the plastic of a turn over its mean, as taken in"
)
melt_give = SUBJECT.result(
    "melt_give", "c_melt", "mm**3/MPa", "volume that the melt gives way for each pressure", positive=True
)
spring_give = SUBJECT.result(
    "spring_give", "c_head", "mm**3/MPa", "volume that the bending head gives way for each pressure", positive=True
)
time_constant = SUBJECT.result(
    "time_constant", "tau", "s", "time in which the flow at the nozzle makes up 63 % of a change", positive=True
)
turns_held = SUBJECT.result("turns_held", "m", "1", "the time constant, counted in turns of the screw")
wave_share = SUBJECT.result(
    "wave_share",
    "a_wave",
    "percent",
    "share of a wave with the rhythm of one turn that reaches the nozzle",
    nonnegative=True,
)
held_share = SUBJECT.result(
    "held_share", "a_held", "percent", "share of the differences from turn to turn that melt and springs let through"
)
fusing_turns = SUBJECT.result("fusing_turns", "M", "1", "turns of plastic that fuse at the same time")
fused_share = SUBJECT.result(
    "fused_share", "a_fused", "percent", "share of the differences from turn to turn that the fusing lets through"
)
noise_share = SUBJECT.result(
    "noise_share", "a_noise", "percent", "most of the differences from turn to turn that reaches the nozzle"
)
ripple = SUBJECT.result(
    "ripple", "C_line", "percent", "standard deviation of the flow at the nozzle over its mean, by counting noise"
)
line_section = SUBJECT.result("line_section", "S_l", "mm**2", "section of the printed line")
line_speed = SUBJECT.result("line_speed", "v_l", "mm/s", "speed along the line at the wanted flow")
turn_line = SUBJECT.result(
    "turn_line", "lambda_turn", "mm", "printed line for each turn of the screw", nonnegative=True
)
width_deviation = SUBJECT.result(
    "width_deviation", "delta_w", "mm", "standard deviation of the width of the line", digits=2
)
even_volume = SUBJECT.result(
    "even_volume", "V_even", "mm**3", "plastic whose counting noise, as taken in, is 10 %", positive=True
)
even_length = SUBJECT.result("even_length", "L_even", "mm", "printed line that takes this much plastic")

#: The unevenness that counts as good, in the margin and in `even_volume` alike.
GOOD = Rational(1, 10)

_INDEPENDENT = "what one turn takes in has nothing to do with what the turn before took in"
_POISSON = "grains come one by one, at random; order in the filling takes away the same share for all sizes"
_SPREAD = "the plastic of a turn moves on evenly over that turn, and in the order it was taken in"
_SMALL = "waves are small, so that flow and pressure change in proportion"
_SOURCE = "the screw brings its plastic whatever the pressure: no melt slips back when the pressure rises"

SUBJECT.relation(
    "pocket_grains", pocket_grains, solid_per_turn / grain_volume_ratio, "The turn counted in grains",
    source=_HERE, assumptions=(_POISSON,),
    valid=((
        solid_per_turn > grain_volume_ratio,
        "a usual grain holds more plastic than a turn brings: grains come one by one, and their passing is the rhythm "
        "of the line; sieve much finer",
    ),),
)  # fmt: skip
SUBJECT.relation(
    "pocket_noise", pocket_noise, filling_order / sqrt(pocket_grains), "Counting noise of grains of unequal size",
    source=Source("gy", "fundamental error of a sample of grains"), assumptions=(_POISSON, _INDEPENDENT),
)  # fmt: skip
SUBJECT.relation(
    "melt_give", melt_give, melt_volume * melt_compressibility, "The melt as a spring", source=_HERE,
    assumptions=(_SMALL,),
)  # fmt: skip
SUBJECT.relation(
    "spring_give", spring_give, bore_section**2 / head_stiffness, "The head as a spring behind a piston", source=_HERE,
    assumptions=("the screw and its plug move back as a piston as wide as the bore",),
)  # fmt: skip
SUBJECT.relation(
    "time_constant", time_constant,
    local_exponent * nozzle_pressure / melt_flow * (melt_give + spring_give),
    "What is stored, over what runs out more for each pressure", source=_HERE, assumptions=(_SMALL, _SOURCE),
)  # fmt: skip
SUBJECT.relation(
    "turns_held", turns_held, speed_for_flow * time_constant, "The time constant in turns", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "wave_share", wave_share, 1 / sqrt(1 + (2 * pi * turns_held) ** 2), "A wave through a filter of first order",
    source=_HERE, assumptions=(_SMALL, "the wave is a sine with one period each turn"),
)  # fmt: skip
SUBJECT.relation(
    "held_share", held_share, sqrt(1 - turns_held * (1 - exp(-1 / turns_held))),
    "Independent turns through the same filter", source=_HERE, assumptions=(_SMALL, _INDEPENDENT, _SPREAD),
)  # fmt: skip
SUBJECT.relation(
    "fusing_turns", fusing_turns, speed_for_flow * fusing_time, "The fusing time in turns", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "fused_share", fused_share,
    sqrt(
        Piecewise(((3 * fusing_turns - 1) / (3 * fusing_turns**2), fusing_turns >= 1), (1 - fusing_turns / 3, True))
    ),
    "A mean over the turns that fuse together", source=_HERE,
    assumptions=(_INDEPENDENT, _SPREAD, "a place in the plug closes its voids evenly over the fusing time"),
)  # fmt: skip
SUBJECT.relation(
    "noise_share", noise_share, Min(held_share, fused_share), "The better of both; together they do a little more",
    source=_HERE,
)  # fmt: skip
SUBJECT.relation(
    "ripple", ripple, pocket_noise * noise_share, "What the grains leave in the line", source=_DEFINITION,
    assumptions=("the screw does not mix the melt of different turns",),
    valid=((
        ripple < Rational(3, 10),
        "waves this large are no longer small: the figure only says that the line is bad; sieve finer",
    ),),
)  # fmt: skip
SUBJECT.relation(
    "line_section", line_section, layer_height * line_width - (1 - pi / 4) * layer_height**2,
    "A flat line with round edges", source=_HERE, assumptions=("the edges of the line are half circles",),
)  # fmt: skip
SUBJECT.relation(
    "line_speed", line_speed, wanted_flow / line_section, "The flow laid down as a line", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "turn_line", turn_line, line_speed / speed_for_flow, "How far the nozzle goes in a turn", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "width_deviation", width_deviation, ripple * line_section / layer_height, "All of the change goes into the width",
    source=_HERE, assumptions=("the nozzle keeps the height of the layer", "speed along the line stays the same"),
)  # fmt: skip
SUBJECT.relation(
    "even_volume", even_volume, (filling_order / GOOD) ** 2 * grain_volume_ratio, "Enough grains to even out",
    source=_HERE, assumptions=(_POISSON, _INDEPENDENT),
)  # fmt: skip
SUBJECT.relation(
    "even_length", even_length, even_volume / line_section, "The line that this plastic makes", source=_DEFINITION,
)  # fmt: skip

SUBJECT.margin(
    "ripple", ripple, good=float(100 * GOOD), limit=20,
    why="the line swells and thins with the turns of the screw, and neighbouring lines no longer close or pile up",
    advice="sieve finer: the ripple falls with size to the power 1.5; a screw with more room per turn also helps, but "
    "only over less than the length that counts",
    source=Source("judgement"),
)  # fmt: skip
