"""Air: what fills the voids between the grains must go back against the plug while they fuse, or stays as bubbles.

The air that is carried in stands still in the end: the plug moves ahead through it. Darcy's law with the permeability
after Kozeny and Carman gives the pressure that this takes, along two ways: straight back over the flights, through the
gap, and round the screw between the flights. The pressure that the grains have at the inlet is what may drive it.
"""

from __future__ import annotations

from sympy import Expr, Piecewise, log, sin

from augerbook.chapters.conveying import (
    RING_COMES_ALONG,
    carried_section,
    cold_length,
    inlet_pressure,
    lining_section,
)
from augerbook.chapters.grains import grain_sauter
from augerbook.chapters.hopper import flight_fill, void_share
from augerbook.chapters.melt import fusing_time
from augerbook.chapters.screw import helix_angle_mean
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import sphericity
from augerbook.head.heating import air_viscosity
from augerbook.head.plastic import closing_share
from augerbook.head.printing import wanted_flow

SUBJECT = Subject(
    "air",
    number=6,
    title="The way out for the air",
    question="Does the air between the grains find its way back before they fuse, and does the tip gap help it?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")


fusing_drop_open = SUBJECT.result(
    "fusing_drop_open",
    "p_open",
    "Pa",
    "pressure that drives the air out of fusing grains, gap over the tip open",
    nonnegative=True,
)
fusing_drop_sealed = SUBJECT.result(
    "fusing_drop_sealed",
    "p_seal",
    "Pa",
    "pressure that drives the air out of fusing grains, gap fused first, or none left by a tight screw",
    title="pressure of the air, gap sealed",
    nonnegative=True,
)

#: Carman's constant for packed grains; Ergun found 150.
CARMAN = 180

_STEADY = "air stands still in the tube on average: what comes in with the grains goes back through them"
_CREEPING = "air creeps: its inertia does not matter"
_BED = (
    "the gap over the tip is as permeable as the bed; empty, since too narrow for grains, it is more so where they "
    "fuse, but less so beside cold ones below one or two tenths of a millimetre"
)
_RAGGED = (
    "grains hold as much as the balls that the Sauter mean counts, and have more surface by their sphericity alone"
)
_LINEAR = "voids shrink evenly along the fusing zone, and the air always finds open ways until they close"

air_flow = SUBJECT.equals(
    "air_flow",
    "Q_air",
    "mm**3/s",
    "air that comes in with the grains and must go back",
    wanted_flow * void_share / (1 - void_share),
    "Voids that come with the plastic",
    source=_HERE,
    assumptions=(_STEADY, "where grains do not fill the flights, the air above them goes back over them freely"),
    title="air that must go back",
)
effective_grain = SUBJECT.equals(
    "effective_grain",
    "d_e",
    "mm",
    "size of balls that hinder the air as much as the grains do",
    sphericity * grain_sauter,
    "The grain by its surface",
    source=_DEFINITION,
    assumptions=(_RAGGED,),
)
bed_permeability = SUBJECT.equals(
    "bed_permeability",
    "k_0",
    "um**2",
    "permeability of the loose bed for air",
    effective_grain**2 * void_share**3 / (CARMAN * (1 - void_share) ** 2),
    "Kozeny and Carman",
    source=Source("fluids", "packed_bed.Carman, creeping flow"),
    assumptions=(_CREEPING,),
)
straight_way = SUBJECT.equals(
    "straight_way",
    "A_ring",
    "mm**2",
    "section of the gap over the flights, through which air goes straight back",
    carried_section - lining_section,
    "The gap over the flights",
    source=_DEFINITION,
)
helix_way = SUBJECT.equals(
    "helix_way",
    "A_helix",
    "mm**2",
    "straight section that would pass as much air as the long way round the screw",
    lining_section * sin(helix_angle_mean) ** 2,
    "A long way in a narrow channel",
    source=_HERE,
    assumptions=("the channel runs at the helix angle of half its depth",),
)
open_way = SUBJECT.equals(
    "open_way",
    "A_open",
    "mm**2",
    "both ways together",
    straight_way + helix_way,
    "Side by side",
    source=_HERE,
    assumptions=(_BED,),
)
gap_gain = SUBJECT.equals(
    "gap_gain",
    "g_s",
    "1",
    "what both ways pass, over what the way round the screw passes",
    open_way / helix_way,
    "How much more passes with the gap",
    source=_DEFINITION,
)
bed_drop = SUBJECT.equals(
    "bed_drop",
    "p_bed",
    "Pa",
    "pressure that drives the air back through the cold bed",
    air_viscosity * air_flow * cold_length / (bed_permeability * open_way),
    "Darcy's law",
    source=_HERE,
    assumptions=(_STEADY, _CREEPING, _BED, "the cold plug is as loose as the granules in the cup"),
)
moved_section = SUBJECT.equals(
    "moved_section",
    "A_plug",
    "mm**2",
    "section of the grains that move ahead",
    Piecewise((carried_section, RING_COMES_ALONG), (lining_section, True)),
    "With or without the ring in the gap, as the plug conveys",
    source=_DEFINITION,
)
fusing_length = SUBJECT.equals(
    "fusing_length",
    "L_f",
    "mm",
    "length of tube over which the grains fuse",
    wanted_flow / ((1 - void_share) * flight_fill * moved_section) * fusing_time,
    "How far the plug moves in the fusing time",
    source=_HERE,
    assumptions=("the plug moves through the fusing zone as fast as before it; it slows down, so this is the longest",),
    nonnegative=True,
)
closing_factor = SUBJECT.equals(
    "closing_factor",
    "F_c",
    "1",
    "mean of (1 - e)/e² while the voids close: by how much they throttle the air",
    (1 / closing_share - 1 / void_share - log(void_share / closing_share)) / (void_share - closing_share),
    "Mean of (1 - e) / e² from open to closed",
    source=_HERE,
    assumptions=(_LINEAR,),
    valid=(
        (
            closing_share < void_share,
            "the grains lie closer than the voids at which the ways close: check the densities of the granules",
        ),
    ),
)


def _fusing_drop(way: Quantity) -> Expr:
    return CARMAN * air_viscosity * wanted_flow * fusing_length * closing_factor / (effective_grain**2 * way)


for _drop, _way, _words in (
    (fusing_drop_open, open_way, "Darcy's law in closing voids, gap open"),
    (fusing_drop_sealed, helix_way, "Darcy's law in closing voids, gap sealed"),
):
    SUBJECT.relation(
        _drop.key, _drop, _fusing_drop(_way), _words, source=_HERE, assumptions=(_STEADY, _CREEPING, _LINEAR),
    )  # fmt: skip
air_pressure = SUBJECT.equals(
    "air_pressure",
    "p_air",
    "Pa",
    "pressure of the air where the last voids close, gap sealed: the worse case",
    bed_drop + fusing_drop_sealed,
    "Bed and fusing zone one after the other",
    source=_HERE,
    nonnegative=True,
)
_LIGHTEST = (
    "the grains are pressed as where they enter, at rest: in the tube they are pressed more, below an outlet that runs "
    "less"
)
air_margin = SUBJECT.equals(
    "air_margin",
    "R_air",
    "1",
    "pressure in the grains at the inlet over that of the air, gap sealed while they fuse",
    inlet_pressure / air_pressure,
    "Pressure at the inlet over pressure needed",
    digits=2,
    source=_DEFINITION,
    assumptions=(_LIGHTEST,),
    title="way out for the air",
)
air_margin_open = SUBJECT.equals(
    "air_margin_open",
    "R_open",
    "1",
    "pressure in the grains at the inlet over that of the air, gap open until the last voids close",
    inlet_pressure / (bed_drop + fusing_drop_open),
    "The same, gap open",
    digits=2,
    source=_DEFINITION,
    assumptions=(_LIGHTEST,),
    title="way out for the air, gap open",
)
escape_time = SUBJECT.equals(
    "escape_time",
    "t_esc",
    "s",
    "time in which the pressure in the grains at the inlet drives the air out, gap sealed",
    fusing_time * air_pressure / inlet_pressure,
    "More pressure, more flow, less time",
    digits=2,
    source=_HERE,
    assumptions=(_LIGHTEST, _CREEPING),
    nonnegative=True,
)

SUBJECT.margin(
    "air_margin", air_margin, good=3, limit=1,
    why="air that needs more pressure than the grains are pressed with stays between them, as bubbles in the melt",
    advice="sieve the dust out, take a screw with a larger pitch, or print more slowly; this is an estimate, so "
    "look at a cut through the melt first",
    source=Source("judgement", "1 is the balance of both pressures, 3 allows for the spread of the estimate"),
)  # fmt: skip
