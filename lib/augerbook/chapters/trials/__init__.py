"""Planning and reading trials: how much one weighing scatters, and how many of them tell a difference from noise.

A weighing counts the grains of many turns; it scatters by their number, by slow changes that outlast it, by the
balance, by start and stop, and from run to run. The mean of several weighings scatters less. A trial is planned so that
a difference worth knowing stands out of what is left.
"""

from __future__ import annotations

from sympy import Expr, exp, sqrt

from augerbook.chapters.conveying import speed_for_flow
from augerbook.chapters.operating import turn_at_work
from augerbook.chapters.ripple import pocket_noise, ripple, turns_held, unevenness
from augerbook.chapters.trials.models import power_of_trial, ratio_told, weighings_for
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import radial_stress_ratio, solid_density
from augerbook.head.printing import wanted_flow
from augerbook.head.trials import (
    balance_reading,
    confidence_wanted,
    effect_wanted,
    plug_test_length,
    power_wanted,
    run_repeatability,
    screws_compared,
    swing_time,
    timing_deviation,
    weighing_time,
    weighings,
)
from augerbook.head.tube import bore_diameter, friction_barrel

SUBJECT = Subject(
    "trials",
    number=19,
    title="Planning and reading trials",
    question="One screw gave more than another: is that a difference or noise, and how many weighings will tell?",
    plans=True,
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")

_ALIKE = "weighings of one screw differ only by chance, alike for all screws"
_NORMAL = "means of weighings scatter in a bell curve"
_FADE = "what made the flow differ fades as a discharge does, by the same share in each second"

#: Fewer turns than this make no mean to speak of.
_FEW_TURNS = 10


def _left_of_mean(time: Expr, kept: Expr) -> Expr:
    """Variance of a mean over a time, over that of a moment, where a change is kept for the time ``kept``."""
    return 2 * kept / time * (1 - kept / time * (1 - exp(-time / kept)))


weighing_turns = SUBJECT.equals(
    "weighing_turns",
    "N_w",
    "1",
    "turns of the screw in one weighing",
    speed_for_flow * weighing_time,
    "Turns in the time of a weighing",
    source=_DEFINITION,
    nonnegative=True,
)
weighing_mass = SUBJECT.equals(
    "weighing_mass",
    "m_w",
    "g",
    "plastic caught in one weighing",
    wanted_flow * solid_density * weighing_time,
    "What is caught in the time of a weighing",
    source=_DEFINITION,
    positive=True,
)
turn_mass = SUBJECT.equals(
    "turn_mass",
    "m_op",
    "mg",
    "plastic that a turn brings at the operating point, as a balance tells it",
    turn_at_work * solid_density,
    "The volume of a turn, weighed",
    source=_DEFINITION,
    title="mass of a turn",
    nonnegative=True,
)
counting_part = SUBJECT.equals(
    "counting_part",
    "C_count",
    "percent",
    "spread of a weighing by counting grains",
    pocket_noise * sqrt(_left_of_mean(weighing_turns, turns_held) / (2 * turns_held)),
    "Counting noise over all turns of a weighing",
    source=_HERE,
    assumptions=(
        "what one turn takes in has nothing to do with what the turn before took in",
        "turns that fuse together even out nothing over so long a time",
    ),
    valid=(
        (
            weighing_turns >= _FEW_TURNS,
            "so few turns are no mean yet: weigh for longer",
        ),
    ),
)
slow_swing = SUBJECT.equals(
    "slow_swing",
    "C_slow",
    "percent",
    "unevenness of the flow by what changes slowly: friction, filling, pressure",
    sqrt(unevenness**2 - ripple**2),
    "What the unevenness has beside counting",
    source=_DEFINITION,
    nonnegative=True,
)
swing_part = SUBJECT.equals(
    "swing_part",
    "C_swing",
    "percent",
    "spread of a weighing by slow changes",
    slow_swing * sqrt(_left_of_mean(weighing_time, swing_time)),
    "Slow changes over the time of a weighing",
    source=_HERE,
    assumptions=(_FADE,),
    nonnegative=True,
)
balance_part = SUBJECT.equals(
    "balance_part",
    "C_bal",
    "percent",
    "spread of a weighing by the steps of the balance",
    balance_reading / (sqrt(6) * weighing_mass),
    "Two readings, each rounded to a step",
    source=Source("gum", "4.3.7 and F.2.2.1"),
    assumptions=("each weighing is the difference of two readings: dish empty, dish full",),
)
timing_part = SUBJECT.equals(
    "timing_part",
    "C_time",
    "percent",
    "spread of a weighing by start and stop",
    timing_deviation / weighing_time,
    "A time that is off by so much",
    source=_DEFINITION,
    assumptions=("the flow is taken for mass over time; whoever divides by turns puts zero",),
)
weighing_spread = SUBJECT.equals(
    "weighing_spread",
    "C_w",
    "percent",
    "standard deviation of one weighing over its mean, run to run included",
    sqrt(counting_part**2 + swing_part**2 + balance_part**2 + timing_part**2 + run_repeatability**2),
    "Causes that have nothing to do with one another add up in squares",
    source=_HERE,
    assumptions=("the causes have nothing to do with one another",),
    title="spread of a weighing",
)
measuring_share = SUBJECT.equals(
    "measuring_share",
    "x_meas",
    "percent",
    "spread by balance and clock alone over the spread of a weighing",
    sqrt(balance_part**2 + timing_part**2) / weighing_spread,
    "How much of the spread is made by measuring",
    source=_DEFINITION,
    title="share of measuring in the spread",
    nonnegative=True,
)
effect_ratio = SUBJECT.equals(
    "effect_ratio",
    "delta",
    "1",
    "difference worth knowing, in standard deviations of one weighing",
    effect_wanted / weighing_spread,
    "The difference seen against the spread",
    source=_DEFINITION,
    positive=True,
)
trial_power = SUBJECT.result(
    "trial_power",
    "p",
    "percent",
    "chance that the planned trial shows the difference worth knowing",
    nonnegative=True,
    title="power of the planned trial",
)
SUBJECT.model(
    "trial_power",
    (effect_ratio, weighings, screws_compared, confidence_wanted),
    (trial_power,),
    power_of_trial,
    "Power of the F test, for two screws that of the t test",
    source=Source("cohen", "sections 2.2 and 8.2"),
    assumptions=(_ALIKE, _NORMAL, "the other screws lie midway between the two that differ most"),
)
weighings_needed = SUBJECT.result(
    "weighings_needed",
    "n_need",
    "1",
    "weighings of each screw that show the difference worth knowing; round up",
    positive=True,
)
SUBJECT.model(
    "weighings_needed",
    (effect_ratio, screws_compared, confidence_wanted, power_wanted),
    (weighings_needed,),
    weighings_for,
    "Weighings for the power that is wanted",
    source=Source("cohen", "sections 2.2 and 8.2"),
    assumptions=(_ALIKE, _NORMAL, "the other screws lie midway between the two that differ most"),
)
detectable_ratio = SUBJECT.result(
    "detectable_ratio",
    "delta_min",
    "1",
    "smallest difference that the planned trial shows, in standard deviations of one weighing",
    positive=True,
)
SUBJECT.model(
    "detectable_ratio",
    (weighings, screws_compared, confidence_wanted, power_wanted),
    (detectable_ratio,),
    ratio_told,
    "The difference that so many weighings tell",
    source=Source("cohen", "sections 2.2 and 8.2"),
    assumptions=(_ALIKE, _NORMAL, "the other screws lie midway between the two that differ most"),
)
smallest_difference = SUBJECT.equals(
    "smallest_difference",
    "Delta_min",
    "percent",
    "smallest difference of flow that the planned trial shows with the power wanted",
    detectable_ratio * weighing_spread,
    "Back from standard deviations to flow",
    source=_DEFINITION,
)
pairs = SUBJECT.equals(
    "pairs",
    "K",
    "1",
    "pairs of screws that can be compared",
    screws_compared * (screws_compared - 1) / 2,
    "Each screw with each other one",
    source=_HERE,
    digits=2,
    positive=True,
)
false_alarm = SUBJECT.equals(
    "false_alarm",
    "a_any",
    "percent",
    "largest chance that screws that are all alike give a pair that looks different, each pair judged by itself",
    1 - confidence_wanted**pairs,
    "Many looks at chance",
    source=_HERE,
    assumptions=("the pairs are judged as if each had its own weighings; with shared ones it is less",),
    title="chance of a false alarm",
)
first_confidence = SUBJECT.equals(
    "first_confidence",
    "gamma_1",
    "percent",
    "confidence at which the clearest pair must be judged so that all pairs together keep the one wanted",
    1 - (1 - confidence_wanted) / pairs,
    "The first step after Holm",
    source=Source("holm"),
    digits=4,
)
trial_time = SUBJECT.equals(
    "trial_time",
    "t_all",
    "min",
    "time for which plastic is caught in the whole trial",
    weighings * screws_compared * weighing_time,
    "All weighings one after the other",
    source=_DEFINITION,
    positive=True,
)
trial_mass = SUBJECT.equals(
    "trial_mass",
    "m_all",
    "g",
    "plastic that the whole trial takes",
    weighings * screws_compared * weighing_mass,
    "All that is caught",
    source=_DEFINITION,
    positive=True,
)

plug_test_ratio = SUBJECT.equals(
    "plug_test_ratio",
    "r_p",
    "1",
    "force that pushes a short plug of granules through the bore, over the weight that it carries",
    exp(4 * friction_barrel * radial_stress_ratio * plug_test_length / bore_diameter),
    "A plug that its wall holds back",
    source=Source("janssen"),
    assumptions=("the plug slides along everywhere, and presses on the wall as it does in the head",),
    positive=True,
)

SUBJECT.margin(
    "trial_power", trial_power, good=90, limit=80,
    why="a screw that is better by as much as you care for goes unnoticed too often, and the trial was for nothing",
    advice="weigh more often; weigh for longer; start and fill each time in the same way, so that runs differ less; "
    "compare fewer screws in one trial; be content to know a larger difference",
    source=Source("common practice"),
)  # fmt: skip
SUBJECT.margin(
    "measuring_share", measuring_share, good=10, limit=30,
    why="what scatters is the balance and the clock, not the head",
    advice="weigh for longer; take a finer balance; let the machine count turns in place of a stopwatch",
    source=Source("common practice"),
)  # fmt: skip
