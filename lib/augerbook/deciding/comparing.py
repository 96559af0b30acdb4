"""Weighings of screws compared: means with intervals, drift, unevenness, and whether a difference is more than noise.

A screw's figure is the mass that a turn brought. Nothing is dropped: what lies far from the rest is named and counts
all the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy import special

from augerbook.chapters.drive.models import student_factor
from augerbook.chapters.trials.models import blocks_for, weighings_for
from augerbook.core.units import number
from augerbook.deciding.weighings import Weighings

Array = NDArray[np.float64]

#: From this many scaled median deviations on a weighing is named (Iglewicz and Hoaglin, 1993; from memory). Among few
#: weighings the median deviation is itself uncertain: ``1 + _FEW / count`` times as many are asked for. Among very many
#: some lie far by chance: then as many as one sound set in ``1 / _NAMED_BY_CHANCE`` goes beyond.
OUTLYING, _FEW, _NAMED_BY_CHANCE = 3.5, 4.0, 0.05
#: Median deviation, and mean deviation, of a bell curve over its standard deviation.
_OF_A_BELL, _MEAN_OF_A_BELL = float(special.ndtri(0.75)), math.sqrt(2 / math.pi)
#: Degrees of freedom of what is known as well as it ever will be.
_SURE = 1e6
#: Readings that scatter by less than this share of their mean are equal: it is what dividing by turns leaves.
_EQUAL = 1e-12
#: A scatter of less than this part of what the steps of the balance make lies below them.
_BELOW_THE_STEP = 0.1
#: More weighings than this nobody makes: the verdict says so in place of a number.
_TOO_MANY = 500


@dataclass(frozen=True)
class Screw:
    """What the weighings of one screw say; masses a turn in kg.

    Attributes:
        low, high: interval of the mean at the confidence asked for; without bounds for a single weighing, and for
            equal ones without the step of the balance.
        deviation: standard deviation between weighings; NaN for a single one.
        by_balance: the part of it that the steps of the balance make.
        rounding: standard error of the mean that no number of weighings takes away: see `rounding_left`.
        outlying: lines of weighings that lie far from the rest.
    """

    name: str
    count: int
    mean: float
    low: float
    high: float
    deviation: float
    by_balance: float
    rounding: float
    outlying: tuple[int, ...]

    @property
    def error(self) -> float:
        """Standard error of the mean."""
        return math.hypot(self.deviation / math.sqrt(self.count), self.rounding)

    @property
    def spread(self) -> float:
        """Standard deviation over the mean."""
        return self.deviation / self.mean if self.mean else math.nan

    @property
    def spread_without_balance(self) -> float:
        """The same without what the balance makes; zero where the balance explains all of it."""
        return math.sqrt(max(self.deviation**2 - self.by_balance**2, 0.0)) / self.mean if self.mean else math.nan


@dataclass(frozen=True)
class Difference:
    """Two means compared after Welch: spreads may differ.

    Attributes:
        t, freedom: the statistic and its degrees of freedom after Welch and Satterthwaite; NaN where nothing scatters
            and no step of a balance is given, which tells nothing.
        chance: of a difference as large or larger between screws that are alike, this pair alone.
        low, high: interval of second less first.
    """

    t: float
    freedom: float
    chance: float
    low: float
    high: float


def rounding_left(deviation: float, by_balance: float) -> float:
    """Return what the steps of a balance leave of an error in a mean, however many weighings it is of.

    Weighings that scatter by less than a step are all rounded the same way. The mean of rounded readings is off by a
    wave in where the truth lies between two steps; its first term falls with the exponent of minus twice the square of
    pi times scatter over step, and without any scatter all of the rounding is left (Sheppard's corrections rest on the
    same; Kendall and Stuart, The Advanced Theory of Statistics, volume 1, from memory).

    Args:
        deviation: standard deviation of the readings, rounded as they are.
        by_balance: the part of it that the rounding of two readings makes, in the same unit.
    """
    if by_balance == 0:
        return 0.0
    scatter = max(deviation**2 - by_balance**2, 0.0)
    return by_balance * math.exp(-(math.pi**2) / 3 * scatter / by_balance**2)


def welch(
    means: Sequence[float],
    deviations: Sequence[float],
    counts: Sequence[int],
    confidence: float,
    rounding: Sequence[float] = (0.0, 0.0),
) -> Difference:
    """Compare two means from their figures: two means, two standard deviations, two numbers of weighings.

    Args:
        rounding: standard errors of the two means beside those that the weighings show; known, so that they bring no
            doubt of their own into the degrees of freedom.
    """
    (m1, m2), (s1, s2), (n1, n2) = means, deviations, counts
    v1, v2 = s1**2 / n1, s2**2 / n2
    whole = v1 + v2 + sum(x**2 for x in rounding)
    if not whole > 0:  # nothing tells how sure the means are
        return Difference(math.nan, math.nan, 1.0, -math.inf, math.inf)
    doubt = v1**2 / (n1 - 1) + v2**2 / (n2 - 1)
    freedom = min(whole**2 / doubt, _SURE) if doubt > 0 else _SURE
    error = math.sqrt(whole)
    t = (m2 - m1) / error
    reach = float(student_factor(freedom, confidence)) * error
    return Difference(t, freedom, 2 * float(special.stdtr(freedom, -abs(t))), m2 - m1 - reach, m2 - m1 + reach)


def ratio_interval(
    over: float, under: float, over_error: float, under_error: float, deviates: float, together: float = 0.0
) -> tuple[float, float]:
    """Return the interval of a ratio of two means after Fieller.

    It has no bounds where ``under`` may be zero.

    Args:
        over, under: the two means.
        over_error, under_error: their standard errors.
        deviates: how many standard errors the interval reaches.
        together: covariance of the two means; zero for independent ones.
    """
    a = under**2 - deviates**2 * under_error**2
    if a <= 0:
        return -math.inf, math.inf
    b = over * under - deviates**2 * together
    c = over**2 - deviates**2 * over_error**2
    root = math.sqrt(max(b**2 - a * c, 0.0))
    return (b - root) / a, (b + root) / a


def holm(chances: Sequence[float]) -> list[float]:
    """Return chances adjusted for their number after Holm: each may be held against one level for all of them."""
    order = np.argsort(chances, kind="stable")
    count, running = len(chances), 0.0
    adjusted = [0.0] * count
    for rank, place in enumerate(order):
        running = max(running, min(1.0, (count - rank) * float(chances[place])))
        adjusted[int(place)] = running
    return adjusted


def hedges(means: Sequence[float], deviations: Sequence[float], counts: Sequence[int]) -> float:
    """Return the difference of two means in standard deviations of one weighing, freed of its bias after Hedges."""
    (m1, m2), (s1, s2), (n1, n2) = means, deviations, counts
    freedom = n1 + n2 - 2
    pooled = math.sqrt(((n1 - 1) * s1**2 + (n2 - 1) * s2**2) / freedom)
    if pooled == 0:
        return math.nan if m1 == m2 else math.copysign(math.inf, m2 - m1)
    log_bias = math.lgamma(freedom / 2) - math.lgamma((freedom - 1) / 2) - math.log(freedom / 2) / 2
    return (m2 - m1) / pooled * math.exp(log_bias)


@dataclass(frozen=True)
class Drift:
    """How the flow changed with time, the screws' own levels taken out: kg a turn in each second, with its interval."""

    slope: float
    error: float
    low: float
    high: float
    freedom: int


def drift(weighings: Weighings, confidence: float) -> Drift | None:
    """Return the common slope over time of all screws; None where times were not noted, or nothing can be said.

    Weighings of one block share what the block brought (a hopper filled anew, a warmer room). Where blocks are named
    each counts once, by its mean: else a few blocks that differ by chance would look like a drift.

    The screws' levels are fitted together with the slope, each block having its share of every screw. So neither level
    nor slope passes for the other where a block lacks a screw, or holds only one; such blocks cost degrees of freedom.

    Equal readings of each screw show no scatter that a slope could be held against: they say nothing.
    """
    known = np.isfinite(weighings.time)
    if weighings.in_blocks:
        blocks, known = np.array(weighings.block, dtype=object), known & np.array([bool(x) for x in weighings.block])
        _, place = np.unique(blocks[known].astype(str), return_inverse=True)
    else:
        place = np.arange(np.count_nonzero(known))
    if not place.size:
        return None
    names = np.array(weighings.screw, dtype=object)[known]
    count = np.bincount(place)
    time, flow = (np.bincount(place, column[known]) / count for column in (weighings.time, weighings.per_turn))
    shares = np.stack([np.bincount(place, names == screw) / count for screw in weighings.screws], axis=1)
    measured = np.stack([time, flow], axis=1)
    levels, _, used, _ = np.linalg.lstsq(shares, measured, rcond=None)
    left = measured - shares @ levels
    left[np.abs(left) <= _EQUAL * np.abs(measured).max(axis=0)] = 0.0
    return _slope(left[:, 0], left[:, 1], len(time) - int(used) - 1, confidence)


def _slope(time: Array, flow: Array, freedom: int, confidence: float) -> Drift | None:
    """Return the slope of flows over times, both counted from what the screws explain; None where it is not defined."""
    moved = float(time @ time)
    if freedom < 1 or moved == 0 or not flow.any():
        return None
    slope = float(time @ flow) / moved
    error = math.sqrt(float(((flow - slope * time) ** 2).sum()) / freedom / moved)
    reach = float(student_factor(freedom, confidence)) * error
    return Drift(slope, error, slope - reach, slope + reach, freedom)


@dataclass(frozen=True)
class _Blocks:
    """Two screws weighed in the same blocks.

    Attributes:
        side: both as the blocks that hold them show them, each block counted as one weighing.
        together: covariance of their means.
        scatter: standard deviation of their differences within the blocks, each screw over its mean; NaN where one
            brought nothing.
        difference: block by block.
        left_out: blocks that hold only one of them.
    """

    side: tuple[Screw, Screw]
    together: float
    scatter: float
    difference: Difference
    left_out: tuple[str, ...]


def _levels(weighings: Weighings) -> dict[str, dict[str, float]]:
    """Return what a turn of each screw brought in each block that is named, in the mean."""
    flows: dict[str, dict[str, list[float]]] = {screw: {} for screw in weighings.screws}
    if weighings.in_blocks:
        for screw, block, flow in zip(weighings.screw, weighings.block, weighings.per_turn.tolist(), strict=True):
            if block:
                flows[screw].setdefault(block, []).append(flow)
    return {screw: {block: sum(x) / len(x) for block, x in blocks.items()} for screw, blocks in flows.items()}


def _blocks_of(levels: dict[str, dict[str, float]], one: Screw, other: Screw, confidence: float) -> _Blocks | None:
    """Compare two screws in the blocks that hold both; None where these are fewer than two."""
    first, second = levels[one.name], levels[other.name]
    both = [block for block in first if block in second]
    if len(both) < 2:
        return None
    a, b = (np.array([level[block] for block in both]) for level in (first, second))
    # Weighings of one screw in one block share a start, so their mean counts once.
    apart = b - a
    deviation = float(apart.std(ddof=1))
    shares = b / b.mean() - a / a.mean() if a.mean() and b.mean() else np.full(len(a), math.nan)
    scatter = float(shares.std(ddof=1))
    if deviation <= _EQUAL * max(a.mean(), b.mean()) or scatter <= _EQUAL:  # equal, or equal as shares
        deviation = scatter = 0.0
    # Differences that scatter by less than a step do not show by themselves what the rounding makes.
    step = math.hypot(one.by_balance, other.by_balance)
    left = rounding_left(deviation, step) / step if step else 0.0
    side = (_of_blocks(one, a, left), _of_blocks(other, b, left))
    # What both share of a block falls out of the differences; these are held against nought.
    found = welch(
        (0.0, float(apart.mean())), (0.0, deviation), (len(a), len(a)), confidence,
        (side[0].rounding, side[1].rounding),
    )  # fmt: skip
    left_out = tuple(block for block in {**first, **second} if block not in first or block not in second)
    return _Blocks(side, float(np.cov(a, b)[0, 1]) / len(a), scatter, found, left_out)


def _of_blocks(screw: Screw, levels: Array, left: float) -> Screw:
    """Return a screw as its blocks show it.

    Args:
        left: share of the rounding that the differences do not show. Where the blocks differ by a step or more, each
            has a rounding of its own, and their mean has less of it.
    """
    mean, deviation = float(levels.mean()), float(levels.std(ddof=1))
    rounding = left * max(screw.rounding, screw.by_balance / math.sqrt(len(levels)))
    return replace(screw, count=len(levels), mean=mean, deviation=deviation, rounding=rounding)


@dataclass(frozen=True)
class Pair:
    """Two screws compared.

    Attributes:
        first, second: their names.
        difference: this pair alone, after Welch; block by block where two blocks or more hold both.
        chance: adjusted for the number of pairs after Holm.
        low, high: interval of second over first, less one.
        effect: difference in standard deviations of one weighing, after Hedges.
        unevenness_chance: of spreads that differ as much between screws that are equally even, after Brown and
            Forsythe, adjusted after Holm.
        verdict: a plain sentence.
    """

    first: str
    second: str
    difference: Difference
    chance: float
    low: float
    high: float
    effect: float
    unevenness_chance: float
    verdict: str


@dataclass(frozen=True)
class Compared:
    """Everything that some weighings say.

    Attributes:
        screws: in the order in which they first come.
        pairs: those of which both have at least two weighings.
        f, f_chance: F of one-way analysis of variance, and the chance of one as large; NaN for fewer than two screws
            with two weighings.
        drift: None where times say nothing.
        confidence: of each interval; and of all verdicts that means differ together, of all that they differ by less
            than what is worth knowing together, of all on the evenness together, and of that on drift.
        verdict: plain sentences.
    """

    screws: tuple[Screw, ...]
    pairs: tuple[Pair, ...]
    f: float
    f_chance: float
    drift: Drift | None
    confidence: float
    verdict: tuple[str, ...]


@dataclass(frozen=True)
class _Asked:
    """What verdicts are asked for.

    Attributes:
        confidence: of all together.
        power: of what is planned.
        worth_knowing: smallest difference that matters, as a share.
        pairs: how many are judged.
        parted: whether the table tells weighings apart by their blocks.
    """

    confidence: float
    power: float
    worth_knowing: float
    pairs: int
    parted: bool

    @property
    def for_a_pair(self) -> float:
        """The confidence of one pair when all together are to have theirs, whichever they are (Bonferroni)."""
        return 1 - (1 - self.confidence) / max(1, self.pairs)


def compare(
    weighings: Weighings,
    *,
    confidence: float = 0.95,
    power: float = 0.8,
    worth_knowing: float = 0.05,
    balance_reading: float = 0.0,
) -> Compared:
    """Compare the screws of some weighings.

    Args:
        weighings: as read.
        confidence: 0 to 1, see `Compared`.
        power: that further weighings are planned for.
        worth_knowing: smallest difference of flow that matters, as a share.
        balance_reading: smallest step of the balance, in kg; zero leaves its part out.

    Raises:
        ValueError: confidence or power is no share between 0 and 1, or the difference worth knowing is not above zero.
    """
    if not (0 < confidence < 1 and 0 < power < 1):
        raise ValueError(f"confidence {confidence:g} and power {power:g} must lie between 0 and 1")
    if not worth_knowing > 0:
        raise ValueError(f"a difference worth knowing of {worth_knowing:g} must be above zero")
    screws = tuple(_screw(weighings, name, confidence, balance_reading) for name in weighings.screws)
    flows = weighings.by_screw()
    told = [screw for screw in screws if screw.count > 1]
    sides = list(combinations(told, 2))
    levels = _levels(weighings)
    blocks = [_blocks_of(levels, *side, confidence) for side in sides]
    differences = [
        paired.difference if paired else _welch_of(*side, confidence)
        for side, paired in zip(sides, blocks, strict=True)
    ]
    adjusted = holm([difference.chance for difference in differences])
    uneven = holm([_brown_forsythe(flows[a.name], flows[b.name]) for a, b in sides])
    asked = _Asked(confidence, power, worth_knowing, len(sides), len(set(weighings.block)) > 1)
    pairs = tuple(
        _pair(side, difference, chance, odd, asked, paired)
        for side, difference, chance, odd, paired in zip(sides, differences, adjusted, uneven, blocks, strict=True)
    )
    f = f_chance = math.nan
    if len(told) > 1 and any(screw.deviation > 0 for screw in told):
        from scipy import stats  # slow to import, and a page begins without

        f, f_chance = (float(x) for x in stats.f_oneway(*(flows[screw.name] for screw in told)))
    moved = drift(weighings, confidence)
    words = (
        *_alone(screws),
        *_without_block(weighings),
        *(pair.verdict for pair in pairs),
        *_in_turn_in_words(weighings, sides),
        *_drift_in_words(moved, weighings, worth_knowing),
    )
    return Compared(screws, pairs, f, f_chance, moved, confidence, words)


def _screw(weighings: Weighings, name: str, confidence: float, reading: float) -> Screw:
    rows = weighings.of(name)
    flow, turns = weighings.per_turn[rows], weighings.turns[rows]
    count, mean = len(flow), float(flow.mean())
    by_balance = reading / math.sqrt(6) * math.sqrt(float((1 / turns**2).mean()))
    if count < 2:
        return Screw(name, count, mean, -math.inf, math.inf, math.nan, by_balance, math.nan, ())
    deviation = float(flow.std(ddof=1))
    deviation = deviation if deviation > _EQUAL * abs(mean) else 0.0
    rounding = rounding_left(deviation, by_balance)
    alone = welch((0.0, mean), (0.0, deviation), (count, count), confidence, (0.0, rounding))
    far = np.abs(flow - np.median(flow))
    # More than half of the readings may be equal: then the mean deviation stands in for the median one.
    usual = float(np.median(far)) / _OF_A_BELL or float(far.mean()) / _MEAN_OF_A_BELL
    reach = max(OUTLYING, float(-special.ndtri(_NAMED_BY_CHANCE / 2 / count)))
    most = reach * (1 + _FEW / count) * max(usual, by_balance)
    lines = np.array(weighings.lines)[rows][far > most] if count > 3 else ()
    return Screw(
        name, count, mean, alone.low, alone.high, deviation, by_balance, rounding, tuple(int(line) for line in lines)
    )  # fmt: skip


def _welch_of(one: Screw, other: Screw, confidence: float) -> Difference:
    return welch(
        (one.mean, other.mean), (one.deviation, other.deviation), (one.count, other.count), confidence,
        (one.rounding, other.rounding),
    )  # fmt: skip


def _brown_forsythe(one: Array, other: Array) -> float:
    """Return the chance of spreads that differ so much, from distances to medians, each over its screw's mean."""
    if min(len(one), len(other)) < 3 or min(one.mean(), other.mean()) <= 0:
        return 1.0
    if min(one.std() / one.mean(), other.std() / other.mean()) <= _EQUAL:
        return 1.0
    from scipy import stats  # as above

    return float(stats.levene(one / one.mean(), other / other.mean(), center="median").pvalue)


def _ratio(
    side: tuple[Screw, Screw], difference: Difference, confidence: float, blocks: _Blocks | None
) -> tuple[float, float]:
    """Return the interval of the second mean over the first."""
    one, other = side
    if not math.isfinite(difference.freedom):
        return -math.inf, math.inf
    deviates = float(student_factor(difference.freedom, confidence))
    together = blocks.together if blocks else 0.0
    return ratio_interval(other.mean, one.mean, other.error, one.error, deviates, together)


def _pair(
    side: tuple[Screw, Screw],
    difference: Difference,
    chance: float,
    uneven: float,
    asked: _Asked,
    blocks: _Blocks | None,
) -> Pair:
    one, other = side
    judged = blocks.side if blocks else side
    low, high = _ratio(judged, difference, asked.confidence, blocks)
    means = (judged[0].mean, judged[1].mean)
    effect = hedges(means, (one.deviation, other.deviation), (one.count, other.count))
    interval = (low - 1, high - 1)
    level = 1 - asked.confidence
    lowest, highest = _ratio(judged, difference, asked.for_a_pair, blocks)
    words = _mean_in_words(judged, interval, (lowest - 1, highest - 1), chance < level, asked, blocks)
    words += _blocks_in_words(blocks, asked)
    with_blocks = ", with what the blocks differ by" if asked.parted else ""
    if uneven < level:
        evener, rougher = sorted(side, key=lambda screw: screw.spread)
        words += (
            f" {evener.name} delivers more evenly: its weighings scatter by {_scatter(evener)}, those of "
            f"{rougher.name} by {_scatter(rougher)}{with_blocks}."
        )
    elif min(one.count, other.count) > 2 and one.mean and other.mean:
        scatters = f"{_scatter(one)} and {_scatter(other)}{with_blocks}"
        words += f" These weighings do not tell which of them is more even ({scatters})."
    return Pair(one.name, other.name, difference, chance, *interval, effect, uneven, words)


def _mean_in_words(
    side: tuple[Screw, Screw],
    interval: tuple[float, float],
    among: tuple[float, float],
    differs: bool,
    asked: _Asked,
    blocks: _Blocks | None,
) -> str:
    """Say which screw brings more, or that both bring the same as far as it matters, or that neither can be told.

    Args:
        interval: of second over first, less one, at the confidence asked for.
        among: the same at the confidence of one pair among all. It judges what is said of what is worth knowing.
        differs: whether the means differ, judged among all pairs.
    """
    one, other = side
    low, high = interval
    if differs:
        more, less = (other, one) if other.mean > one.mean else (one, other)
        if other.mean < one.mean:
            (low, high), among = _turned_round(interval), _turned_round(among)
        if not less.mean:
            return (
                f"{more.name} brings more than {less.name} in a turn: {less.name} brought nothing. Look for the cause."
            )
        gain = more.mean / less.mean - 1
        small = (
            f" That is less than the {_percent(asked.worth_knowing)} worth knowing."
            if among[1] < asked.worth_knowing
            else ""
        )
        return (
            f"{more.name} brings more than {less.name} in a turn: {_percent(gain)} more, {_between(low, high)} at "
            f"{_percent(asked.confidence)} confidence.{small}"
        )
    lies = f"{other.name} over {one.name} lies {_between(low, high)}"
    if _matters_less(among, asked):
        return (
            f"{one.name} and {other.name} bring the same in a turn, as far as it matters: {lies}, and only "
            f"{_percent(asked.worth_knowing)} would be worth knowing."
        )
    if not (math.isfinite(low) and math.isfinite(high)):
        lies = "these weighings set no bounds to their difference"
    elif not low <= 0 <= high or _matters_less(interval, asked):
        lies += f", this pair taken alone; but among {asked.pairs} pairs one may look like that by chance"
    return (
        f"Cannot tell {one.name} from {other.name}: {lies}. {_more_in_words(side, among[1] - among[0], asked, blocks)}"
    )


def _matters_less(interval: tuple[float, float], asked: _Asked) -> bool:
    """Whether an interval holds nothing worth knowing."""
    return -asked.worth_knowing < interval[0] and interval[1] < asked.worth_knowing


def _turned_round(interval: tuple[float, float]) -> tuple[float, float]:
    """Return the interval of first over second, less one, from that of second over first."""
    low, high = (1 / (1 + end) - 1 if end > -1 else math.inf for end in reversed(interval))
    return low, high


def _more_in_words(side: tuple[Screw, Screw], reach: float, asked: _Asked, blocks: _Blocks | None) -> str:
    """Say how many weighings would show a difference worth knowing, if the spread is what it seems.

    Where the two were compared block by block, what both share of a block counts no more in what is planned than in
    the verdict: then it says how many blocks.

    Args:
        reach: width of the interval of the ratio, at the confidence of one pair among all.
    """
    if not all(screw.mean for screw in side):
        return "A screw that brought nothing cannot be set against another: look for the cause first."
    one, other = side
    count = min(one.count, other.count)
    scatter = (blocks.scatter**2 / count) if blocks else sum((s.deviation / s.mean) ** 2 / s.count for s in side)
    if sum((s.rounding / s.mean) ** 2 for s in side) > scatter:
        return "The balance is too coarse to tell more: take a finer one, or weigh for longer."
    if not scatter > 0:
        equal = "differences within the blocks" if blocks else "weighings of each screw"
        return f"All {equal} are equal: give the step of the balance, which tells how sure that is."
    matters = _percent(asked.worth_knowing)
    if blocks:
        what, those = "blocks with both", "their differences"
        needed = float(blocks_for(asked.worth_knowing / blocks.scatter, asked.for_a_pair, asked.power))
    else:
        what, those = "weighings of each", "they"
        spread = math.sqrt((one.spread**2 + other.spread**2) / 2)
        needed = float(weighings_for(asked.worth_knowing / spread, 2, asked.for_a_pair, asked.power))
    shows = (
        f"would show a difference of {matters} in {_percent(asked.power)} of all trials, if {those} scatter as these do"
    )
    if math.ceil(needed) <= count:
        # Enough by plan, and yet the interval holds nought as well as what is worth knowing. One narrower than that
        # cannot: it holds nought and nothing worth knowing, or the reverse. Among several pairs the verdict asks more
        # of each, and so must the interval.
        needed = count * (reach / asked.worth_knowing) ** 2
        shows = f"would leave an interval narrower than {matters}, which tells one way or the other"
    if not needed <= _TOO_MANY:
        return f"To tell {matters} would take more than {_TOO_MANY} {what}: weigh for longer."
    # Not so many beside these: to add some and look once more is to be fooled by chance twice as often.
    return f"About {math.ceil(needed)} more {what}, read by themselves, {shows}."


def _blocks_in_words(blocks: _Blocks | None, asked: _Asked) -> str:
    """Say which blocks were left out, or that none were used; nothing where all is as planned."""
    if blocks is None:
        return " Blocks are not used for this pair: fewer than two hold both." if asked.parted else ""
    if not blocks.left_out:
        return ""
    left = f"blocks {_listed(blocks.left_out)} are" if len(blocks.left_out) > 1 else f"block {blocks.left_out[0]} is"
    return f" This pair is compared in the {blocks.side[0].count} blocks that hold both; {left} left out."


def _without_block(weighings: Weighings) -> list[str]:
    if not weighings.in_blocks:
        return []
    lines = [line for line, block in zip(weighings.lines, weighings.block, strict=True) if not block]
    if not lines:
        return []
    told = f"{'line' if len(lines) == 1 else 'lines'} {_listed(lines)}"
    return [
        f"What stands in {told} names no block: it counts for its screw alone, neither where blocks are compared nor "
        "for the drift."
    ]


def _between(low: float, high: float) -> str:
    return f"between {_percent(low)} and {_percent(high)}"


def _in_turn_in_words(weighings: Weighings, sides: Sequence[tuple[Screw, Screw]]) -> list[str]:
    """Say which screws were weighed one after the other: what time did then looks like what the screws did."""
    names = np.array(weighings.screw, dtype=object)
    place = {name: np.flatnonzero(names == name) for name in {screw.name for pair in sides for screw in pair}}
    apart = [
        f"{one.name} and {other.name}"
        for one, other in sides
        if place[one.name][-1] < place[other.name][0] or place[other.name][-1] < place[one.name][0]
    ]
    if not apart:
        return []
    others = len(apart) - 1
    more = f", and so {'was 1 more pair' if others == 1 else f'were {others} more pairs'}" if others else ""
    return [
        f"{apart[0]} were weighed one after the other{more}: whatever changed meanwhile counts as a difference of the "
        "screws. Weigh them by turns."
    ]


def _alone(screws: Sequence[Screw]) -> list[str]:
    words = [
        f"{screw.name} was weighed once: one weighing says nothing of its spread; weigh it again before you compare it."
        for screw in screws
        if screw.count == 1
    ]
    alike: dict[str, list[str]] = {}
    for screw in screws:
        alike.setdefault(" ".join(screw.name.casefold().split()), []).append(screw.name)
    words += [f"{' and '.join(names)} count as {len(names)} screws." for names in alike.values() if len(names) > 1]
    if len(screws) == 1:
        words.append(f"Only {screws[0].name} was weighed: there is nothing to compare it with.")
    words += [
        f"{screw.name}: what stands in line {_listed(screw.outlying)} lies far from the rest; it counts all the same. "
        "Look for a cause before you weigh again."
        for screw in screws
        if screw.outlying
    ]
    return words


def _listed(lines: Sequence[int | str], most: int = 5) -> str:
    told = ", ".join(map(str, lines[:most]))
    return told if len(lines) <= most else f"{told} and {len(lines) - most} more"


def _drift_in_words(moved: Drift | None, weighings: Weighings, worth_knowing: float) -> list[str]:
    mean, hour = float(weighings.per_turn.mean()), 3600.0
    if moved is None or mean == 0:  # a share of nothing says nothing
        return []
    low, slope, high = (x * hour / mean for x in (moved.low, moved.slope, moved.high))
    if low <= 0 <= high:
        lasted = float(np.nanmax(weighings.time) - np.nanmin(weighings.time)) / hour
        if max(-low, high) * lasted < worth_knowing:
            return [f"No drift that matters: {_between(low, high)} an hour."]
        return [f"Whether the flow drifts cannot be told: {_between(low, high)} an hour. Weigh over a longer time."]
    way = "rises" if slope > 0 else "falls"
    return [
        f"The flow {way} by {_percent(abs(slope))} an hour, whichever screw it is ({_percent(low)} to "
        f"{_percent(high)}): compare only screws that were weighed by turns."
    ]


def _scatter(screw: Screw) -> str:
    if screw.deviation == 0 or screw.deviation < _BELOW_THE_STEP * screw.by_balance:
        return "less than the balance shows"
    return _percent(screw.spread)


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return "any number of per cent"
    return f"{number(100 * share, 2)} %"
