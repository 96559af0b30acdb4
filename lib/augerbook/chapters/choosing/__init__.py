"""Choosing the next build: how sure a share of draws is, and how sure it is that one of two builds is the better.

A head that holds its margins at the values typed may fail at others that are as likely. Everything uncertain is drawn
many times, the same for every candidate, and each draw goes through the whole head. These are the few closed forms
that say what such a count is worth: how many draws, which chance for a margin, which for a lead.
"""

from __future__ import annotations

from sympy import Expr, erf, sqrt

from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.choosing import (
    coverage_factor,
    draw_count,
    holding_share,
    lead,
    limit_distance,
    limit_spread,
    shared_correlation,
    spread_at_hand,
    spread_new,
    wanted_half_width,
)

SUBJECT = Subject(
    "choosing",
    number=18,
    title="Which screw to try next",
    question="A drawer full of screws, a few bores and plates: which build shall I try next, and how sure can I be?",
    plans=True,
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")

_EACH = "each draw is taken by itself, and each holds with the same chance"
_BELL = "many small causes add up, so that the result follows the normal law"


def _normal(steps: Expr) -> Expr:
    """Return the chance that a normal quantity lies below its mean and so many standard deviations more."""
    return (1 + erf(steps / sqrt(2))) / 2


share_half_width = SUBJECT.equals(
    "share_half_width",
    "h",
    "percent",
    "how far a share of so many draws is off, either way",
    coverage_factor * sqrt(holding_share * (1 - holding_share) / draw_count),
    "What a share of draws is worth",
    nonnegative=True,
    source=_HERE,
    assumptions=(_EACH, "so many of the draws hold, and so many do not, that the count follows the normal law"),
    valid=(
        (
            draw_count * holding_share * (1 - holding_share) >= 5,
            "so few draws fall to the rarer side that this half-width says too little: go by the low and high bound",
        ),
    ),
)
draws_needed = SUBJECT.equals(
    "draws_needed",
    "n_w",
    "1",
    "draws for the half-width wanted",
    coverage_factor**2 * holding_share * (1 - holding_share) / wanted_half_width**2,
    "Draws that a half-width takes",
    nonnegative=True,
    digits=4,
    source=_HERE,
    assumptions=(_EACH,),
)
_middle = holding_share + coverage_factor**2 / (2 * draw_count)
_reach = coverage_factor * sqrt(
    holding_share * (1 - holding_share) / draw_count + coverage_factor**2 / (4 * draw_count**2)
)
_WILSON = Source("wilson1927", "the limits of the probability, from the quadratic in it")
chance_low = SUBJECT.equals(
    "chance_low",
    "p_low",
    "percent",
    "least chance that would give so large a share",
    (_middle - _reach) / (1 + coverage_factor**2 / draw_count),
    "The low end of what fits the count",
    nonnegative=True,
    source=_WILSON,
    assumptions=(_EACH,),
)
chance_high = SUBJECT.equals(
    "chance_high",
    "p_high",
    "percent",
    "largest chance that would give so small a share",
    (_middle + _reach) / (1 + coverage_factor**2 / draw_count),
    "The high end of what fits the count",
    nonnegative=True,
    source=_WILSON,
    assumptions=(_EACH,),
)
limit_steps = SUBJECT.equals(
    "limit_steps",
    "z_b",
    "1",
    "distance to the limit in standard deviations",
    limit_distance / limit_spread,
    "How many spreads lie before the limit",
    source=_DEFINITION,
)
margin_chance = SUBJECT.equals(
    "margin_chance",
    "P_b",
    "percent",
    "chance that the margin holds",
    _normal(limit_steps),
    "The part of a bell on the good side of the limit",
    nonnegative=True,
    source=_HERE,
    assumptions=(_BELL,),
)
difference_spread = SUBJECT.equals(
    "difference_spread",
    "s_d",
    "percent",
    "standard deviation of the difference of both builds, on the same draws",
    sqrt(spread_at_hand**2 + spread_new**2 - 2 * shared_correlation * spread_at_hand * spread_new),
    "What both share cancels in their difference",
    nonnegative=True,
    source=_HERE,
    assumptions=("both builds get the same draws",),
)
own_difference_spread = SUBJECT.equals(
    "own_difference_spread",
    "s_own",
    "percent",
    "the same, each build on draws of its own",
    sqrt(spread_at_hand**2 + spread_new**2),
    "Nothing shared, nothing cancels",
    positive=True,
    source=_HERE,
    assumptions=("each build gets draws of its own",),
)
better_chance = SUBJECT.equals(
    "better_chance",
    "P_d",
    "percent",
    "chance that the new build is better than the one at hand",
    _normal(lead / difference_spread),
    "The part of the bell of differences that is a gain",
    nonnegative=True,
    source=_HERE,
    assumptions=(_BELL, "both builds get the same draws"),
    title="chance that it is better",
)
own_better_chance = SUBJECT.equals(
    "own_better_chance",
    "P_own",
    "percent",
    "how often the new build seems better, each on draws of its own",
    _normal(lead / own_difference_spread),
    "The same bell, blurred by grains that differ",
    nonnegative=True,
    source=_HERE,
    assumptions=(_BELL, "each build gets draws of its own"),
    title="chance that it seems better",
)
draws_saved = SUBJECT.equals(
    "draws_saved",
    "g_n",
    "1",
    "times as many draws that the same certainty of the lead takes, each build on draws of its own",
    own_difference_spread**2 / difference_spread**2,
    "What common draws save",
    nonnegative=True,
    source=_HERE,
    assumptions=("the mean of n draws spreads by the root of n less than a single one",),
)

SUBJECT.margin(
    "better_chance",
    better_chance,
    good=90,
    limit=75,
    why="one time in four and more the new build turns out worse, and the money and the evening are gone",
    advice=(
        "take a candidate that is further ahead, or measure what moves the two apart, "
        "and compare both on the same grains"
    ),
    source=Source("judgement"),
)
