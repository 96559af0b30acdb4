"""Grains: how large they are, which of them pass between screw and wall, and which the flights catch.

A grain counts as a ball as wide as the finest mesh it passes. A size that passes is the diameter of a circle in the
axial plane that touches the wall and clears the core and the flights beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from sympy import Expr, Piecewise, Rational, cos, exp, sin, sqrt, tan
from sympy.logic.boolalg import Boolean

from augerbook.chapters.grains.sizes import (
    LognormalSizes,
    Sizes,
    fit_lognormal,
    fit_rosin_rammler,
    flakes_wider_than,
    sieved_sizes,
)
from augerbook.chapters.screw import core_gap, flight_depth, floor_width, net_volume, room_leaning, tip_gap
from augerbook.core.extremes import largest, smallest
from augerbook.core.quantity import Choice, Quantity, Series
from augerbook.core.relation import Model
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import (
    BALL,
    ESTIMATED,
    FLAKE,
    flake_thickness,
    grain_shape,
    ground_median,
    ground_spread,
    loose_density,
    sieve_mesh,
    sieve_table,
    sizes_from,
    solid_density,
)
from augerbook.head.screw import crest_width, flank_half_angle, pitch
from augerbook.head.tube import bore_diameter, tube_length

SUBJECT = Subject(
    "grains",
    number=2,
    title="Grains and gaps",
    question="Which grains pass between screw and wall, and which does the screw catch?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")


coarsest_mesh = SUBJECT.result("coarsest_mesh", "m_1", "mm", "mesh up to which the sizes are known")
finest_grain = SUBJECT.result("finest_grain", "x_min", "mm", "size below which there is no grain")
grain_median = SUBJECT.result("grain_median", "x_50", "mm", "size that half of the mass stays below")
grain_spread = SUBJECT.result(
    "grain_spread",
    "s_x",
    "1",
    "spread of the sizes: half the logarithm of the size that 84 % of the mass stays below, over that for 16 %",
)
grain_number_median = SUBJECT.result("grain_number_median", "x_50_n", "mm", "size that half of the grains stay below")
largest_grain = SUBJECT.result("largest_grain", "x_99", "mm", "size that 99 % of the mass stays below")
grain_sauter = SUBJECT.result(
    "grain_sauter", "x_32", "mm", "Sauter mean: size of equal balls with as much surface in the same volume"
)
grain_volume_ratio = SUBJECT.result(
    "grain_volume_ratio",
    "v_g",
    "mm**3",
    "mean volume of a grain, each weighted with its mass",
    title="volume of a usual grain",
)
ball_volume_ratio = SUBJECT.result("ball_volume_ratio", "v_ball", "mm**3", "the same for balls")
flake_volume_ratio = SUBJECT.result(
    "flake_volume_ratio", "v_flake", "mm**3", "the same for flakes, each a round disc, or a ball if that is less"
)
lognormal_median = SUBJECT.result("lognormal_median", "x_0_fit", "mm", "median of the fitted lognormal law")
lognormal_spread = SUBJECT.result("lognormal_spread", "sigma_fit", "1", "spread of the fitted lognormal law")
lognormal_misfit = SUBJECT.result(
    "lognormal_misfit", "e_ln", "percent", "largest difference of the shares below a mesh, table and lognormal law"
)
rosin_rammler_size = SUBJECT.result(
    "rosin_rammler_size", "x_RR", "mm", "size of the fitted law of Rosin and Rammler, 63.2 % below it"
)
rosin_rammler_exponent = SUBJECT.result(
    "rosin_rammler_exponent", "n_RR", "1", "exponent of the fitted law of Rosin and Rammler"
)
rosin_rammler_misfit = SUBJECT.result(
    "rosin_rammler_misfit", "e_RR", "percent", "largest difference of the shares below a mesh, table and this law"
)

caught_share = SUBJECT.result(
    "caught_share",
    "X_tip",
    "percent",
    "share of the mass in grains too large to slip back over a tip",
    title="share of grains that the flights catch",
)
share_over_core_gap = SUBJECT.result(
    "share_over_core_gap", "X_core", "percent", "share of the mass in grains larger than the gap over the core"
)
share_over_centred = SUBJECT.result(
    "share_over_centred", "X_pass", "percent", "share of the mass too large to pass a centred screw"
)
share_over_leaning = SUBJECT.result(
    "share_over_leaning", "X_lean", "percent", "share of the mass too large to pass even a leaning screw"
)

passing_size_centred = SUBJECT.result(
    "passing_size_centred",
    "m_pass",
    "mm",
    "largest grain of this shape, by the mesh it passes, that a centred screw lets pass",
    title="size that passes, screw centred",
)
passing_size_leaning = SUBJECT.result(
    "passing_size_leaning",
    "m_lean",
    "mm",
    "largest grain of this shape, by the mesh it passes, that has room on the open side of a leaning screw",
    title="size that passes, screw leaning",
)
slipping_size = SUBJECT.result(
    "slipping_size",
    "m_slip",
    "mm",
    "largest grain of this shape, by the mesh it passes, that slips back over a tip, screw centred",
)
large_density = SUBJECT.result(
    "large_density", "n_large", "1/mm**3", "grains too large for a centred screw, in each volume of solid plastic"
)
large_balls = SUBJECT.result("large_balls", "n_ball", "1/mm**3", "the same for balls")
large_flakes = SUBJECT.result(
    "large_flakes", "n_flake", "1/mm**3", "the same for flakes, each a round disc, or a ball if that is less"
)

_BALLS = "a grain is a ball as wide as the mesh it passes"
_DISC = "a flake is a round disc as wide as the mesh it passes"
_CAPPED = (
    "a flake narrower than one and a half times its thickness holds as much as a ball, which is less than the disc"
)
_CUT = "the sieve lets through all that is smaller than its mesh and nothing else"
_CENTRED = "the screw is centred in the bore"
_LEANING = "the screw lies against the wall over its whole length"
_AXIAL = (
    "the circle lies in the axial plane: a ball in the helical channel is smaller, but by less than the cosine of the "
    "helix angle takes away"
)

half_opening = SUBJECT.equals(
    "half_opening",
    "w",
    "mm",
    "half of the clear width between two crests",
    (pitch - crest_width) / 2,
    "Half the width between two crests",
    source=_DEFINITION,
)
tip_gap_open = SUBJECT.equals(
    "tip_gap_open",
    "s_lean",
    "mm",
    "gap over the tip on the open side, screw leaning",
    2 * tip_gap,
    "The gap over the tip when the screw leans on the far wall",
    source=_HERE,
    assumptions=(_LEANING,),
)


def _flight_circle(gap: Expr) -> Piecewise:
    """Circle under the wall that touches both flanks, or both crests where the gap over them is wide."""
    on_flanks = 2 * (half_opening * cos(flank_half_angle) + gap * sin(flank_half_angle)) / (1 + sin(flank_half_angle))
    on_crests = (half_opening**2 + gap**2) / gap
    touches_below_the_crests = gap * (1 - sin(flank_half_angle)) <= half_opening * cos(flank_half_angle)
    return Piecewise((on_flanks, touches_below_the_crests), (on_crests, True))


flight_circle_centred = SUBJECT.equals(
    "flight_circle_centred",
    "x_fl",
    "mm",
    "largest circle between two flights under the wall, core left out",
    _flight_circle(tip_gap),
    "The circle between two flights, screw centred",
    source=_HERE,
    assumptions=(_CENTRED, _AXIAL),
)
flight_circle_leaning = SUBJECT.equals(
    "flight_circle_leaning",
    "x_fl_lean",
    "mm",
    "the same on the open side of a leaning screw",
    _flight_circle(tip_gap_open),
    "The circle between two flights, screw leaning",
    source=_HERE,
    assumptions=(_LEANING, _AXIAL),
)
largest_passing_centred = SUBJECT.equals(
    "largest_passing_centred",
    "x_pass",
    "mm",
    "largest ball that passes a centred screw",
    smallest(core_gap, flight_circle_centred),
    "Core or flights, whichever is tighter",
    source=_HERE,
    assumptions=(_CENTRED, _AXIAL, _BALLS),
    title="largest ball that passes, screw centred",
)
largest_passing_leaning = SUBJECT.equals(
    "largest_passing_leaning",
    "x_lean",
    "mm",
    "largest ball that passes on the open side of a leaning screw",
    smallest(room_leaning, flight_circle_leaning),
    "Core or flights on the open side, whichever is tighter",
    source=_HERE,
    assumptions=(_LEANING, _AXIAL, _BALLS),
    title="largest ball that passes, screw leaning",
)


_LIES_FLAT = f"{_DISC}, and lies flat under the wall: on the core, on both flanks, or on both crests"
_NO_FLAKE = (
    "flakes thicker than they are wide are splinters that went through the sieve endways, which nothing here "
    "describes: measure some twenty across their thinnest side, count chunks as balls, and grind splinters again"
)
_OR_STANDS = "a flake that passes standing may do so instead; how much wider ones may pass tilted is left out"
flake_rise = SUBJECT.equals(
    "flake_rise",
    "y_fl",
    "mm",
    "how far above the core the largest flakes come to rest, lying flat",
    largest(0, smallest(flight_depth, (largest_grain - floor_width) / (2 * tan(flank_half_angle)))),
    "A flake wider than the floor rests on the flanks",
    nonnegative=True,
    source=_HERE,
    assumptions=(_LIES_FLAT,),
)
flake_need = SUBJECT.equals(
    "flake_need",
    "g_fl",
    "mm",
    "gap over the core that the largest flakes need, lying flat",
    flake_thickness
    + flake_rise
    + (bore_diameter - sqrt(bore_diameter**2 - smallest(largest_grain, bore_diameter) ** 2)) / 2,
    "Thickness, rise on the flanks, and what the bore curves away",
    source=_HERE,
    assumptions=(_LIES_FLAT,),
)
flake_sagitta = SUBJECT.equals(
    "flake_sagitta",
    "d_fl",
    "mm",
    "height that the bore curves away across the thickness of a standing flake",
    (bore_diameter - sqrt(bore_diameter**2 - smallest(flake_thickness, bore_diameter) ** 2)) / 2,
    "Room that a standing flake loses under a round wall",
    source=_HERE,
)


def _flakes(
    where: str, symbol: str, screw: str, gap: Quantity, over_tips: Quantity, assumption: str
) -> tuple[Quantity, Quantity, Quantity, Quantity, Quantity, Quantity]:
    """Declare which flakes pass under a wall ``gap`` above the core and ``over_tips`` above the crests.

    Returns the flank's line, the widest on floor, flanks and crests, the widest that stands, and the widest of all.
    """
    radius, angle, assumptions = bore_diameter / 2, flank_half_angle, (assumption, _LIES_FLAT)

    def width(holds: str, letter: str, expression: Expr) -> Quantity:
        return SUBJECT.equals(
            f"flake_on_{holds}_{where}",
            f"w_{letter}_{symbol}",
            "mm",
            f"widest flake that fits under the wall, resting on the {holds}, {screw}",
            expression,
            f"A flake on the {holds}, {screw}",
            source=_HERE,
            assumptions=assumptions,
        )

    def chord(room: Quantity) -> Expr:
        """Width of the bore where the upper face of a flake lies that rests ``room`` below the wall."""
        deep = smallest(largest(room - flake_thickness, 0), radius)
        return 2 * sqrt(deep * (2 * radius - deep))

    line = SUBJECT.equals(
        f"flank_line_{where}",
        f"e_{symbol}",
        "mm",
        f"distance from the bore's axis to the line of a flank, raised by the thickness of a flake, {screw}",
        largest(
            smallest((gap - flake_thickness - radius) * sin(angle) + floor_width / 2 * cos(angle), radius * cos(angle)),
            -radius,
        ),
        f"The line on which the flake's upper edge climbs, {screw}",
        source=_HERE,
        assumptions=assumptions,
    )
    floor = width("floor", "fl", chord(gap))
    crests = width("crests", "cr", chord(over_tips))
    flanks = width("flanks", "fk", 2 * (line * cos(angle) + sin(angle) * sqrt(radius**2 - line**2)))
    stands = SUBJECT.equals(
        f"standing_flake_{where}",
        f"w_st_{symbol}",
        "mm",
        f"widest flake that passes standing, its plane along the tube, {screw}",
        largest(0, smallest(gap - flake_sagitta, _flight_circle(over_tips - flake_sagitta))),
        f"A standing flake, {screw}",
        nonnegative=True,
        source=_HERE,
        assumptions=(assumption, _AXIAL),
    )
    passes = SUBJECT.equals(
        f"widest_flake_{where}",
        f"w_{symbol}",
        "mm",
        f"widest flake that passes, {screw}",
        largest(stands, smallest(floor, largest(flanks, crests))),
        f"A flake between wall and flights, {screw}",
        source=_HERE,
        assumptions=(*assumptions, _OR_STANDS),
        valid=((flake_thickness <= largest_grain, _NO_FLAKE),),
    )
    return line, floor, flanks, crests, stands, passes


# fmt: off
(
    flank_line_centred, flake_on_floor_centred, flake_on_flanks_centred, flake_on_crests_centred,
    standing_flake_centred, widest_flake_centred,
) = _flakes("centred", "pass", "screw centred", core_gap, tip_gap, _CENTRED)
(
    flank_line_leaning, flake_on_floor_leaning, flake_on_flanks_leaning, flake_on_crests_leaning,
    standing_flake_leaning, widest_flake_leaning,
) = _flakes("leaning", "lean", "screw leaning", room_leaning, tip_gap_open, _LEANING)
# fmt: on
SUBJECT.select(
    "passing_size_centred",
    passing_size_centred,
    grain_shape,
    {BALL: largest_passing_centred, FLAKE: widest_flake_centred},
    "By shape",
)
SUBJECT.select(
    "passing_size_leaning",
    passing_size_leaning,
    grain_shape,
    {BALL: largest_passing_leaning, FLAKE: widest_flake_leaning},
    "By shape",
)
slipping_flake = SUBJECT.equals(
    "slipping_flake",
    "w_slip",
    "mm",
    "widest flake that slips back over a tip, screw centred",
    largest(tip_gap, flake_on_crests_centred),
    "A flake thicker than the gap is caught, a thinner one slides over flat",
    source=_HERE,
    assumptions=(_CENTRED, _LIES_FLAT),
)
SUBJECT.select("slipping_size", slipping_size, grain_shape, {BALL: tip_gap, FLAKE: slipping_flake}, "By shape")
passing_over_mesh = SUBJECT.equals(
    "passing_over_mesh",
    "x_m",
    "1",
    "largest ball that passes, screw leaning, over the sieve mesh",
    largest_passing_leaning / sieve_mesh,
    "Room for a grain as large as the mesh",
    source=_DEFINITION,
)

_EVEN_FIT = Rational(5, 100)
_FIT_RANGE = "the table does not follow this law within 5 % (two batches mixed, or few sieves?): use the table itself"
SUBJECT.model(
    "lognormal_fit", (sieve_table,), (lognormal_median, lognormal_spread, lognormal_misfit), fit_lognormal,
    "A lognormal law fitted to the sieve table", source=_HERE, assumptions=(_CUT,),
    valid=((lognormal_misfit <= _EVEN_FIT, f"lognormal law: {_FIT_RANGE}"),),
)  # fmt: skip
SUBJECT.model(
    "rosin_rammler_fit", (sieve_table,), (rosin_rammler_size, rosin_rammler_exponent, rosin_rammler_misfit),
    fit_rosin_rammler, "Rosin and Rammler's law fitted to the sieve table", source=Source("rosin_rammler"),
    assumptions=(_CUT,), valid=((rosin_rammler_misfit <= _EVEN_FIT, f"law of Rosin and Rammler: {_FIT_RANGE}"),),
)  # fmt: skip


class SizeModel(Model):
    """A model of the sizes, which a build gives as a sieve table or as median and spread: `sizes_from` says which."""

    choice = sizes_from

    def needs(self, choices: Mapping[Choice, str]) -> tuple[Quantity | Series, ...]:
        """Return the sizes as the build gives them, the mesh, and what else the model compares them with."""
        left_out = {sieve_table} if choices.get(sizes_from) == ESTIMATED else {ground_median, ground_spread}
        return tuple(item for item in self.inputs if item not in left_out)

    def array(self, *values: Any) -> tuple[Any, ...]:
        """Compute the output from the sizes, the mesh and what else the model compares them with."""
        sizes: Sizes
        if isinstance(values[0], tuple):
            columns, cut, *others = values
            sizes = sieved_sizes(columns, cut)
        else:
            median, spread, cut, *others = values
            sizes = LognormalSizes(median, spread, cut)
        return (self.function(sizes, *others)[()],)


def _of_sizes(
    short_id: str,
    output: Quantity,
    function: Callable[..., NDArray[np.float64]],
    meaning: str,
    others: Sequence[Quantity] = (),
    assumptions: tuple[str, ...] = (),
    valid: tuple[tuple[Boolean, str], ...] = (),
) -> None:
    inputs: tuple[Quantity | Series, ...] = (sieve_table, ground_median, ground_spread, sieve_mesh, *others)
    SUBJECT.nodes.append(
        SizeModel(
            f"{SUBJECT.name}.{short_id}",
            inputs,
            (output,),
            function,
            meaning,
            source=_DEFINITION,
            assumptions=(_CUT, *assumptions),
            valid=valid,
        )
    )


def _share_above(sizes: Sizes, gap: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(1 - sizes.share_below(gap))


_SAMPLE = "weigh a sample that has passed this sieve"
_of_sizes(
    "coarsest_mesh", coarsest_mesh, lambda sizes: sizes.coarsest, "Above the first row of a table nothing is known",
    valid=((
        sieve_mesh <= coarsest_mesh,
        "the sieve is coarser than the coarsest mesh of the sieve table, which knows nothing of the grains in between: "
        f"{_SAMPLE}",
    ),),
)  # fmt: skip
_of_sizes(
    "finest_grain", finest_grain, lambda sizes: sizes.finest, "Below the last class with mass there is nothing",
    valid=((
        sieve_mesh > finest_grain,
        f"the sieve is finer than all that the sieve table has weighed: {_SAMPLE}",
    ),),
)  # fmt: skip
_of_sizes("median", grain_median, lambda sizes: sizes.size_at(0.5), "The median by mass")
_of_sizes(
    "spread", grain_spread,
    # The shares below one standard deviation under and over the mean of a bell curve.
    lambda sizes: np.asarray(np.log(sizes.size_at(0.8413447) / sizes.size_at(0.1586553)) / 2),
    "The spread of the sizes; for a lognormal law without cut its sigma",
)  # fmt: skip
_of_sizes(
    "number_median", grain_number_median, lambda sizes: sizes.size_at(0.5, -3), "The median by number", (), (_BALLS,)
)
_of_sizes("largest", largest_grain, lambda sizes: sizes.size_at(0.99), "The largest grain that turns up regularly")
_of_sizes("sauter", grain_sauter, lambda sizes: 1 / sizes.mean_power(-1), "The Sauter mean", (), (_BALLS,))
_of_sizes(
    "ball_volume_ratio", ball_volume_ratio, lambda sizes: np.pi / 6 * sizes.mean_power(3),
    "The mean volume of a ball by mass", (), (_BALLS,),
)  # fmt: skip
_of_sizes(
    "flake_volume_ratio", flake_volume_ratio,
    lambda sizes, thick: flakes_wider_than(0.0, sizes, thick, power=1),
    "The mean volume of a flake by mass", (flake_thickness,), (_DISC, _CAPPED),
)  # fmt: skip
SUBJECT.select(
    "volume_ratio",
    grain_volume_ratio,
    grain_shape,
    {BALL: ball_volume_ratio, FLAKE: flake_volume_ratio},
    "By shape",
)
_of_sizes("caught_share", caught_share, _share_above, "What the flights push", (slipping_size,), (_CENTRED,))
_of_sizes(
    "over_core_gap", share_over_core_gap, _share_above, "What is larger than the nominal gap", (core_gap,), (_BALLS,)
)
_of_sizes("over_centred", share_over_centred, _share_above, "What would jam a centred screw", (passing_size_centred,))
_of_sizes("over_leaning", share_over_leaning, _share_above, "What jams a leaning screw too", (passing_size_leaning,))

_of_sizes(
    "large_balls", large_balls,
    lambda sizes, size: 6 / np.pi * sizes.mean_power(-3) * (1 - sizes.share_below(size, -3)),
    "How many balls are too large", (largest_passing_centred,), (_BALLS,),
)  # fmt: skip
_of_sizes(
    "large_flakes", large_flakes,
    lambda sizes, size, thick: flakes_wider_than(size, sizes, thick, power=-1),
    "How many flakes are too wide", (widest_flake_centred, flake_thickness), (_LIES_FLAT, _CAPPED),
)  # fmt: skip
SUBJECT.select("large_density", large_density, grain_shape, {BALL: large_balls, FLAKE: large_flakes}, "By shape")
large_in_tube = SUBJECT.equals(
    "large_in_tube",
    "N_large",
    "1",
    "grains in the tube that are too large for a centred screw",
    large_density * loose_density / solid_density * net_volume / pitch * tube_length,
    "Their number in the plastic that the tube holds",
    nonnegative=True,
    source=_HERE,
    assumptions=(
        "the bore is full of grains as loose as in the cup",
        "all of the tube counts, its hot end too, where a large grain softens and gives way: the safe side",
    ),
)
opposed_chance = SUBJECT.equals(
    "opposed_chance",
    "p_opp",
    "1",
    "least chance that large grains in the tube leave the screw no side to lean to",
    1 - exp(-large_in_tube) - large_in_tube * exp(-large_in_tube / 2),
    "Neither none, nor all of them on one side",
    nonnegative=True,
    source=_HERE,
    assumptions=(
        "large grains stand anywhere round the screw, each for itself; the screw is stiff and leans as a whole",
        "the screw can lean away from all large grains on one half; in truth the larger a grain the narrower the arc "
        "in which it has room, so that this is the least chance",
    ),
    title="chance that large grains oppose",
)
passing_over_grain = SUBJECT.equals(
    "passing_over_grain",
    "x_p",
    "1",
    "size that passes, screw leaning, over that of the largest grains",
    passing_size_leaning / largest_grain,
    "Room for the largest grains",
    source=_DEFINITION,
    title="room for the largest grains",
)

SUBJECT.margin(
    "passing_over_grain",
    passing_over_grain,
    good=1.05,
    limit=1.0,
    why="the largest grains must pass core and flights on the open side of the screw, or they jam",
    advice="sieve through a finer mesh, or take a wider bore or a screw with a larger pitch",
    source=Source("derived here", "geometry of the leaning screw"),
)
SUBJECT.margin(
    "opposed_chance",
    opposed_chance,
    good=0.001,
    limit=0.01,
    why="a screw leans aside for one large grain, not for two on opposite sides: it is pinched, the torque peaks, and "
    "grains are crushed or the motor stalls. This is the chance at any one moment, and the tube is filled anew every "
    "few minutes: at a hundredth some are pinched every few hours, and only nought is safe",
    advice="sieve through a mesh finer than the size that passes with the screw centred, or take a wider bore; a screw "
    "with a thinner core helps where the core holds the grain, one with a larger pitch where the flights do",
    source=Source("derived here", "the chance; 0.001 and 0.01 are judgement"),
)
SUBJECT.margin(
    "share_over_leaning",
    share_over_leaning,
    good=0.001,
    limit=1,
    why="a grain that does not pass even a leaning screw never gets through: it is crushed, or stops the screw. One in "
    "a hundred thousand by mass is already a grain of 2.5 mm in every kilogram",
    advice="sieve through a mesh finer than the size that passes with the screw leaning, or take a wider bore",
    source=Source("judgement", "1 % is what the largest grain that turns up regularly leaves out"),
)
SUBJECT.margin(
    "caught_share",
    caught_share,
    good=70,
    limit=55,
    why="only grains too large for the gap over the tip are pushed by the flights; finer ones, and flakes thin "
    "enough to slide over it flat, can slip back",
    advice="take a narrower bore or a larger screw, or sieve out the fines",
    source=Source("judgement"),
)
