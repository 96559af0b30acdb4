"""Weighings of screws compared: means with intervals, drift, unevenness, and whether a difference is more than noise.

A screw's figure is the mass that a turn brought. Nothing is dropped: what lies far from the rest is named and counts
all the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy import special

from augerbook.chapters.drive.models import student_factor
from augerbook.chapters.trials.models import weighings_for
from augerbook.core.units import number
from augerbook.deciding.weighings import Weighings

Array = NDArray[np.float64]

#: From this many scaled median deviations on a weighing is named (Iglewicz and Hoaglin, 1993; from memory).
OUTLYING = 3.5
#: Makes the median deviation of a bell curve as large as 0.6745 of its standard deviation.
_OF_A_BELL = float(special.ndtri(0.75))
#: More weighings than this nobody makes: the verdict says so in place of a number.
_TOO_MANY = 500


@dataclass(frozen=True)
class Screw:
    """What the weighings of one screw say; masses a turn in kg.

    Attributes:
        low, high: interval of the mean at the confidence asked for; without bounds for a single weighing.
        deviation: standard deviation between weighings; NaN for a single one.
        by_balance: the part of it that the steps of the balance make.
        outlying: lines of weighings that lie far from the rest.
    """

    name: str
    count: int
    mean: float
    low: float
    high: float
    deviation: float
    by_balance: float
    outlying: tuple[int, ...]

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
        t, freedom: the statistic and its degrees of freedom after Welch and Satterthwaite.
        chance: of a difference as large or larger between screws that are alike, this pair alone.
        low, high: interval of second less first.
    """

    t: float
    freedom: float
    chance: float
    low: float
    high: float


def welch(means: Sequence[float], deviations: Sequence[float], counts: Sequence[int], confidence: float) -> Difference:
    """Compare two means from their figures: two means, two standard deviations, two numbers of weighings."""
    (m1, m2), (s1, s2), (n1, n2) = means, deviations, counts
    v1, v2 = s1**2 / n1, s2**2 / n2
    if not v1 + v2 > 0:
        same = m1 == m2
        return Difference(0.0 if same else math.copysign(math.inf, m2 - m1), math.nan, float(same), m2 - m1, m2 - m1)
    freedom = (v1 + v2) ** 2 / (v1**2 / (n1 - 1) + v2**2 / (n2 - 1))
    error = math.sqrt(v1 + v2)
    t = (m2 - m1) / error
    reach = float(student_factor(freedom, confidence)) * error
    return Difference(t, freedom, 2 * float(special.stdtr(freedom, -abs(t))), m2 - m1 - reach, m2 - m1 + reach)


def ratio_interval(
    over: float, under: float, over_error: float, under_error: float, deviates: float
) -> tuple[float, float]:
    """Return the interval of a ratio of two independent means after Fieller.

    It has no bounds where ``under`` may be zero.

    Args:
        over, under: the two means.
        over_error, under_error: their standard errors.
        deviates: how many standard errors the interval reaches.
    """
    a = under**2 - deviates**2 * under_error**2
    if a <= 0:
        return -math.inf, math.inf
    b = over * under
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
    """Return the common slope over time of all screws; None where times were not noted or say nothing."""
    known = np.isfinite(weighings.time)
    names = np.array(weighings.screw, dtype=object)[known]
    time, flow = weighings.time[known].copy(), weighings.per_turn[known].copy()
    screws = list(dict.fromkeys(names))
    freedom = len(time) - len(screws) - 1
    for screw in screws:
        rows = names == screw
        time[rows] -= time[rows].mean()
        flow[rows] -= flow[rows].mean()
    moved = float(time @ time)
    if freedom < 1 or moved == 0:
        return None
    slope = float(time @ flow) / moved
    error = math.sqrt(float(((flow - slope * time) ** 2).sum()) / freedom / moved)
    reach = float(student_factor(freedom, confidence)) * error
    return Drift(slope, error, slope - reach, slope + reach, freedom)


@dataclass(frozen=True)
class Pair:
    """Two screws compared.

    Attributes:
        first, second: their names.
        difference: after Welch, this pair alone.
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
        confidence: of all intervals, and of all verdicts together.
        verdict: plain sentences.
    """

    screws: tuple[Screw, ...]
    pairs: tuple[Pair, ...]
    f: float
    f_chance: float
    drift: Drift | None
    confidence: float
    verdict: tuple[str, ...]


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
        confidence: 0 to 1, of each interval and of all verdicts together.
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
    differences = [_welch_of(*side, confidence) for side in sides]
    adjusted = holm([difference.chance for difference in differences])
    uneven = holm([_brown_forsythe(flows[a.name], flows[b.name]) for a, b in sides])
    strictest = 1 - (1 - confidence) / max(1, len(sides))
    pairs = tuple(
        _pair(side, difference, chance, odd, strictest, confidence, power, worth_knowing)
        for side, difference, chance, odd in zip(sides, differences, adjusted, uneven, strict=True)
    )
    f = f_chance = math.nan
    if len(told) > 1 and any(screw.deviation > 0 for screw in told):
        from scipy import stats  # slow to import, and a page begins without

        f, f_chance = (float(x) for x in stats.f_oneway(*(flows[screw.name] for screw in told)))
    moved = drift(weighings, confidence)
    words = (*_alone(screws), *(pair.verdict for pair in pairs), *_drift_in_words(moved, weighings))
    return Compared(screws, pairs, f, f_chance, moved, confidence, words)


def _screw(weighings: Weighings, name: str, confidence: float, reading: float) -> Screw:
    rows = weighings.of(name)
    flow, turns = weighings.per_turn[rows], weighings.turns[rows]
    count, mean = len(flow), float(flow.mean())
    by_balance = reading / math.sqrt(6) * math.sqrt(float((1 / turns**2).mean()))
    if count < 2:
        return Screw(name, count, mean, -math.inf, math.inf, math.nan, by_balance, ())
    deviation = float(flow.std(ddof=1))
    reach = float(student_factor(count - 1, confidence)) * deviation / math.sqrt(count)
    far = np.abs(flow - np.median(flow))
    usual = float(np.median(far)) / _OF_A_BELL
    lines = np.array(weighings.lines)[rows][far > OUTLYING * usual] if usual > 0 and count > 3 else ()
    return Screw(
        name, count, mean, mean - reach, mean + reach, deviation, by_balance, tuple(int(line) for line in lines)
    )  # fmt: skip


def _welch_of(one: Screw, other: Screw, confidence: float) -> Difference:
    return welch((one.mean, other.mean), (one.deviation, other.deviation), (one.count, other.count), confidence)


def _brown_forsythe(one: Array, other: Array) -> float:
    """Return the chance of spreads that differ so much, from distances to medians, each over its screw's mean."""
    if min(len(one), len(other)) < 3 or min(one.std(), other.std()) == 0 or min(one.mean(), other.mean()) <= 0:
        return 1.0
    from scipy import stats  # as above

    return float(stats.levene(one / one.mean(), other / other.mean(), center="median").pvalue)


def _pair(
    side: tuple[Screw, Screw],
    difference: Difference,
    chance: float,
    uneven: float,
    pair_confidence: float,
    confidence: float,
    power: float,
    worth_knowing: float,
) -> Pair:
    one, other = side
    if math.isfinite(difference.freedom):
        deviates = float(student_factor(difference.freedom, confidence))
        over, under = (screw.deviation / math.sqrt(screw.count) for screw in (other, one))
        low, high = ratio_interval(other.mean, one.mean, over, under, deviates)
    else:
        low = high = other.mean / one.mean if one.mean else math.nan
    effect = hedges((one.mean, other.mean), (one.deviation, other.deviation), (one.count, other.count))
    interval = (low - 1, high - 1)
    level = 1 - confidence
    words = _mean_in_words(side, interval, chance < level, pair_confidence, confidence, power, worth_knowing)
    if uneven < level:
        evener, rougher = sorted(side, key=lambda screw: screw.spread)
        words += (
            f" {evener.name} delivers more evenly: its weighings scatter by {_percent(evener.spread)}, those of "
            f"{rougher.name} by {_percent(rougher.spread)}."
        )
    elif min(one.count, other.count) > 2:
        words += (
            f" Which of them is more even these weighings do not tell ({_percent(one.spread)} and "
            f"{_percent(other.spread)})."
        )
    return Pair(one.name, other.name, difference, chance, *interval, effect, uneven, words)


def _mean_in_words(
    side: tuple[Screw, Screw],
    interval: tuple[float, float],
    differs: bool,
    pair_confidence: float,
    confidence: float,
    power: float,
    worth_knowing: float,
) -> str:
    one, other = side
    low, high = interval
    if differs:
        more, less = (other, one) if other.mean > one.mean else (one, other)
        if other.mean < one.mean:
            low, high = (1 / (1 + high) - 1 if high > -1 else math.inf), (1 / (1 + low) - 1 if low > -1 else math.inf)
        gain = more.mean / less.mean - 1 if less.mean else math.inf
        return (
            f"{more.name} brings more than {less.name} in a turn: {_percent(gain)} more, between {_percent(low)} and "
            f"{_percent(high)} at {_percent(confidence)} confidence."
        )
    if -worth_knowing < low and high < worth_knowing:
        return (
            f"{one.name} and {other.name} bring the same in a turn, as far as it matters: {other.name} over "
            f"{one.name} lies between {_percent(low)} and {_percent(high)}, and only {_percent(worth_knowing)} would "
            "be worth knowing."
        )
    return (
        f"Cannot tell {one.name} from {other.name}: {other.name} over {one.name} lies between {_percent(low)} and "
        f"{_percent(high)}. {_more_in_words(side, pair_confidence, power, worth_knowing)}"
    )


def _more_in_words(side: tuple[Screw, Screw], confidence: float, power: float, worth_knowing: float) -> str:
    """Say how many more weighings would show a difference worth knowing, if the spread is what it seems."""
    one, other = side
    spread = math.sqrt((one.spread**2 + other.spread**2) / 2)
    if not spread > 0:
        return "All weighings of a screw are equal: take a finer balance, or weigh for longer."
    wanted = float(weighings_for(worth_knowing / spread, 2, confidence, power))
    more = math.ceil(wanted) - min(one.count, other.count)
    if more <= 0:
        return f"A difference of {_percent(worth_knowing)} would most likely have shown."
    if more > _TOO_MANY:
        return (
            f"To tell {_percent(worth_knowing)} would take more than {_TOO_MANY} weighings of each: weigh for longer."
        )
    return f"About {more} more weighings of each would tell a difference of {_percent(worth_knowing)}."


def _alone(screws: Sequence[Screw]) -> list[str]:
    words = [
        f"{screw.name} was weighed once: one weighing says nothing of its spread; weigh it again before you compare it."
        for screw in screws
        if screw.count == 1
    ]
    if len(screws) == 1:
        words.append(f"Only {screws[0].name} was weighed: there is nothing to compare it with.")
    words += [
        f"{screw.name}: far from the rest lies what stands in line {_listed(screw.outlying)}; it counts all the same. "
        "Look for a cause before you weigh again."
        for screw in screws
        if screw.outlying
    ]
    return words


def _listed(lines: Sequence[int], most: int = 5) -> str:
    told = ", ".join(map(str, lines[:most]))
    return told if len(lines) <= most else f"{told} and {len(lines) - most} more"


def _drift_in_words(moved: Drift | None, weighings: Weighings) -> list[str]:
    mean, hour = float(weighings.per_turn.mean()), 3600.0
    if moved is None or mean == 0:  # a share of nothing says nothing
        return []
    low, slope, high = (x * hour / mean for x in (moved.low, moved.slope, moved.high))
    if low <= 0 <= high:
        return [f"No drift to be seen: between {_percent(low)} and {_percent(high)} an hour."]
    way = "rises" if slope > 0 else "falls"
    return [
        f"The flow {way} by {_percent(abs(slope))} an hour, whichever screw it is ({_percent(low)} to "
        f"{_percent(high)}): compare only screws that were weighed by turns."
    ]


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return "any number of per cent"
    return f"{number(100 * share, 2)} %"
