"""Trials teach the model: uncertain inputs of a build narrowed by what was measured, and which trial would narrow most.

What a build says of its uncertain inputs, each a triangle over its spread, is the prior. Least squares find the head
that is nearest to what was measured, and refuse what no head gives; draws of the posterior tell what is left of the
spreads. What the trials cannot tell keeps its spread, and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import special
from scipy.optimize import least_squares

from augerbook.builds.build import Build, Entry
from augerbook.chapters.hopper import card_hole
from augerbook.chapters.operating import heater_at_work, needed_torque, operating_thrust
from augerbook.chapters.trials import plug_test_ratio, turn_mass, weighing_spread
from augerbook.core.margin import Margin
from augerbook.core.quantity import Quantity
from augerbook.core.spread import strength
from augerbook.core.units import number
from augerbook.deciding.comparing import Screw
from augerbook.deciding.draws import Draws, rests_on_circles, sobol_places, triangle, uncertain_upstream
from augerbook.deciding.posterior import Posterior, in_steps
from augerbook.deciding.work import brought_to_rest
from augerbook.head.feedstock import solid_density
from augerbook.head.screw import friction_screw
from augerbook.head.trials import weighings
from augerbook.head.tube import friction_barrel

Array = NDArray[np.float64]

#: A spread that a trial leaves at more than this share was not told by it.
TOLD = 0.95
#: Draws at a time, as a power of two, that tell what trials leave.
_LEARNING = 9
#: How far draws may be off by chance, in standard deviations of their own, before an input counts as told; and one such
#: deviation, as a share of the spread that draws show, for one draw (a triangle's fourth moment is 2.4 squares).
_SURE, _CHANCE = 3.0, math.sqrt((2.4 - 1) / 4)
#: Half a triangle's width over its standard deviation, when it is as high to the left as to the right.
_HALF_WIDTH = math.sqrt(6.0)
#: Step of the differences behind slopes, in standard deviations of what is uncertain; and rounds to rest.
_STEP, _ROUNDS, _AT_REST = 0.1, 12, 1e-6
#: How well draws are brought to rest: no result is off by more than a two-thousandth, far less than any scatter.
_DRAWN_AT_REST = 1e-3
#: Places tried before the best one so far is taken: beside a kink there is no end to small betterments.
_TRIES = 10
#: How much a trial must narrow an input, beyond all others, to be named with it.
_NAMED = 0.98
#: Places at which a spread is read for its logarithms.
_QUANTILES = 400
#: A residual in place of a head that has no value (a plug that slips), in standard deviations: worse than one that has.
_NO_VALUE = 1e4
#: From this many standard deviations on what was measured and the head that is nearest to it do not fit: of seven sound
#: trials one lies beyond three of them once in fifty times, beyond four once in two thousand.
_FAR = 4.0
#: A measurement is a surprise where draws of the build give one as far out, or farther, less often than this: as often
#: as a bell curve lies beyond three standard deviations.
_RARE = 0.0027
#: Draws, as a power of two, that a search may begin from and a surprise is judged by, and their seed; and how many of
#: the nearest it looks at. A head that conveys in two ways jumps from one to the other, and no slope leads across.
_DRAWS, _SEED, _NEAREST = 8, 1, 8
#: Shares of the way from the mean to such a draw that are looked at; how many of all these places a fit begins from.
_SHARES, _STARTS = (0.3, 0.45, 0.6, 0.75, 0.9, 1.0), 3
#: Draws, as a power of two, by which trials are ranked; the fewest of them that say anything; what is taken at least
#: for one less the sum of squares of what draws count, where hardly any agree; the share by which draws differ that do.
_CROWD, _FEWEST, _LONELY, _ALIKE = 10, 64, 0.2, 1e-9
#: A fit that is off by no more than measurements are ninety-nine times in a hundred needs no other start.
_USUAL = 0.99


@dataclass(frozen=True)
class Trial:
    """One measured result of a build.

    Attributes:
        name: in words, ``"weighed"``.
        quantity: what was measured, a result or an input.
        measured: SI.
        deviation: standard deviation of the measurement, SI.
    """

    name: str
    quantity: Quantity
    measured: float
    deviation: float


@dataclass(frozen=True)
class Kind:
    """A trial that can be made: what it measures, and how far off it usually is, as a share of the result.

    Where ``by_angle`` is set the quantity is the tangent of an angle, which may be given in its place.
    """

    name: str
    quantity: Quantity
    usual: float
    by_angle: bool = False


_WEIGHING = "weighing"
#: Few weighings may agree by chance. The scatter that the build lets expect counts with them, with as many degrees of
#: freedom as three weighings have (judgement).
_EXPECTED = 2
#: Trials with the scatter that a maker's means leave (judgement). For a weighing it holds where the build does not know
#: better, see `usual_of`.
KINDS = (
    Kind(_WEIGHING, turn_mass, 0.015),
    Kind("torque or motor current", needed_torque, 0.05),
    Kind("force on the plate", operating_thrust, 0.05),
    Kind("pushed plug", plug_test_ratio, 0.05),
    Kind("tilted plane of the screw's metal", friction_screw, 0.08, by_angle=True),
    Kind("tilted plane of the bore's metal", friction_barrel, 0.08, by_angle=True),
    Kind("heater's power", heater_at_work, 0.03),
    # Between the hole that stays bridged and the next one, a quarter wider, its place is anyone's guess; and the dust
    # lies there as it fell.
    Kind("dust over holes in a card", card_hole, 0.15),
)


@dataclass(frozen=True)
class Narrowed:
    """What is known of one uncertain input, before and after the trials; SI.

    Attributes:
        told: whether the trials tell anything of it.
        by: names of the trials that narrow it, those that do most first.
    """

    quantity: Quantity
    before: float
    before_deviation: float
    after: float
    deviation: float
    told: bool
    by: tuple[str, ...]

    @property
    def left(self) -> float:
        """Share of the spread that is left."""
        return self.deviation / self.before_deviation


@dataclass(frozen=True)
class Calibrated:
    """A build after its trials.

    Attributes:
        build: the build with narrowed spreads, and with the trials in its note.
        narrowed: each uncertain input that the trials could have told of.
        covariance: of these inputs after the trials, SI, in the same order.
        surprises: sentences on measurements that the build did not let expect.
        tied: a sentence on the two inputs that are known together only; empty where none are.
    """

    build: Build
    narrowed: tuple[Narrowed, ...]
    covariance: Array
    surprises: tuple[str, ...]
    tied: str


def weighed(build: Build, screw: Screw) -> Trial:
    """Return what the weighings of a screw say of the head that it sits in: the mass of a turn.

    Of the solid density they say nothing: denser plastic fills less room, and a turn brings as much of it.
    The scatter is that of the weighings and that which the build lets expect of them, together.

    Raises:
        ValueError: no scatter is known, or the build does not know the solid density.
    """
    expected = build.solution.get(weighing_spread)
    freedom, square = screw.count - 1, screw.deviation**2
    if freedom and expected is not None:
        square = (freedom * square + _EXPECTED * (expected * screw.mean) ** 2) / (freedom + _EXPECTED)
    if not square > 0:
        raise ValueError(
            f"{screw.name}: from {screw.count} weighing{'' if screw.count == 1 else 's'} no scatter is known: weigh it "
            "again, to every digit that the balance shows"
        )
    if solid_density not in build.values:
        raise ValueError(
            f"the build has no {solid_density.name_in_words}: give it, so that it knows what a turn weighs"
        )
    error = math.hypot(math.sqrt(square / screw.count), screw.rounding)
    return Trial(_WEIGHING, turn_mass, screw.mean, error)


def usual_of(build: Build, kind: Kind) -> float:
    """Return how far off a trial usually is, as a share: a weighing by what the build's planned weighings leave."""
    if kind.name == _WEIGHING and weighing_spread in build.solution.values and weighings in build.values:
        return build.solution[weighing_spread] / math.sqrt(build.values[weighings])
    return kind.usual


def uncertain_of(build: Build, results: Sequence[Quantity]) -> tuple[Quantity, ...]:
    """Return the inputs with a spread that any of the results depends on, but those that a circle finds.

    Raises:
        ValueError: a result cannot be computed for the build; the message says what is missing.
    """
    for quantity in results:
        if quantity not in build.solution.values:
            raise ValueError(f"{quantity.name_in_words} {build.solution.why_missing(quantity)}")
    return tuple(q for q in uncertain_upstream(build, results) if q not in build.network.assumed)


def prior_of(build: Build, quantity: Quantity) -> tuple[float, float]:
    """Return mean and standard deviation (SI) of an input: those of the triangle over its spread."""
    (low, high), mode = build.ends[quantity], build.values[quantity]
    square = low**2 + high**2 + mode**2 - low * high - low * mode - high * mode
    return (low + mode + high) / 3, math.sqrt(square / 18)


def _log_prior(build: Build, quantity: Quantity) -> tuple[float, float]:
    """Return mean and standard deviation of the logarithm (of SI) of an input over the triangle of its spread."""
    (low, high), mode = build.ends[quantity], build.values[quantity]
    share = (np.arange(_QUANTILES) + 0.5) / _QUANTILES
    logs = np.log(triangle(low, mode, high).ppf(share))
    return float(logs.mean()), float(logs.std())


def results_at(
    build: Build, results: Sequence[Quantity], columns: dict[Quantity, Array], *, enough: float = _AT_REST
) -> Array:
    """Return results (SI, one row each) of heads at work that differ from a build in some inputs (SI columns).

    Args:
        enough: a head is at rest when a round changes what the circles assume by no more than this share.
    """
    works = rests_on_circles(build, results)
    return np.array(_swept(build, results, _rested(build, columns, enough) if works else columns))


def _rested(build: Build, columns: dict[Quantity, Array], enough: float = _AT_REST) -> dict[Quantity, Array]:
    """Return the columns with what the circles find in place of what they assume."""
    moved, _ = brought_to_rest(build.network, build.values, build.choices, columns, rounds=_ROUNDS, enough=enough)
    return moved


def _swept(build: Build, results: Sequence[Quantity], rested: dict[Quantity, Array]) -> tuple[Array, ...]:
    """Return results of heads that are at rest."""
    return build.network.compile(results, list(rested), build.values, build.choices)(*rested.values())


def crowd_of(build: Build, inputs: Sequence[Quantity], power: int, seed: int = _SEED) -> dict[Quantity, Array]:
    """Return 2 to the ``power`` draws (SI columns) of some uncertain inputs, each from the triangle of its spread."""
    return Draws(tuple(inputs), sobol_places(len(inputs), power, seed), seed).of(build)


class _Slopes:
    """Results and their slopes over uncertain inputs, counted in standard deviations from their means."""

    def __init__(self, build: Build, inputs: Sequence[Quantity], results: Sequence[Quantity]) -> None:
        self.build, self.inputs, self.results = build, tuple(inputs), tuple(results)
        ends = [tuple(map(q.si, q.limits)) for q in inputs]
        # What is above zero counts by its logarithm: where only a product is told, all that gives it lies on a line.
        self.by_ratio = np.array([low > 0 for low, _ in ends])
        priors = [
            _log_prior(build, q) if ratio else prior_of(build, q)
            for q, ratio in zip(inputs, self.by_ratio, strict=True)
        ]
        self.mean, self.deviation = (np.array(x) for x in zip(*priors, strict=True))
        with np.errstate(all="ignore"):
            low, high = (np.where(self.by_ratio, np.log(x), x) for x in np.array(ends).T)
        self.low, self.high = (low - self.mean) / self.deviation, (high - self.mean) / self.deviation

    def si(self, places: Array) -> Array:
        """Return SI values of the inputs at places in standard deviations; the last axis goes over the inputs."""
        straight = self.mean + self.deviation * places
        return np.where(self.by_ratio, np.exp(np.where(self.by_ratio, straight, 0.0)), straight)

    def places(self, columns: Mapping[Quantity, Array]) -> Array:
        """Return the places, one row each, of heads whose inputs are given as SI columns."""
        table = np.array([columns[q] for q in self.inputs]).T
        with np.errstate(all="ignore"):
            straight = np.where(self.by_ratio, np.log(table), table)
        return np.asarray((straight - self.mean) / self.deviation)

    def at(self, place: Array) -> tuple[Array, Array]:
        """Return results, and slopes (result by input), at a place in standard deviations."""
        count = len(self.inputs)
        table = np.tile(place, (2 * count + 1, 1))
        for i in range(count):
            table[2 * i, i] = min(place[i] + _STEP, self.high[i])
            table[2 * i + 1, i] = max(place[i] - _STEP, self.low[i])
        columns = dict(zip(self.inputs, self.si(table).T, strict=True))
        found = results_at(self.build, self.results, columns)
        up, down = table[0:-1:2].diagonal() - place, place - table[1:-1:2].diagonal()
        here = found[:, -1:]
        with np.errstate(all="ignore"):
            slopes = _gentler((found[:, 0:-1:2] - here) / up, (here - found[:, 1:-1:2]) / down)
        return found[:, -1], slopes


def _gentler(ahead: Array, behind: Array) -> Array:
    """Return the gentler of two slopes, zero where they disagree in sign, the only one where the other has no value.

    Beside the place where a plug begins to slip everything is steep: a slope across it would claim to know too much.
    """
    both = np.where(np.abs(ahead) < np.abs(behind), ahead, behind)
    both = np.where(ahead * behind < 0, 0.0, both)
    return np.where(np.isfinite(ahead) & np.isfinite(behind), both, np.where(np.isfinite(ahead), ahead, behind))


@dataclass(frozen=True)
class Learning:
    """How far a calibration is.

    Attributes:
        done, of: pieces done, and pieces in all as far as can be seen.
        found: what came of it, in the last step alone; whoever stops before has learnt nothing.
    """

    done: int
    of: int
    found: Calibrated | None = None


def calibrate(build: Build, trials: Sequence[Trial]) -> Calibrated:
    """Narrow the uncertain inputs of a build by trials; the same trials give the same numbers.

    Raises:
        ValueError: as for `calibrated_in_steps`.
    """
    *_, last = calibrated_in_steps(build, trials)
    assert last.found is not None
    return last.found


def calibrated_in_steps(build: Build, trials: Sequence[Trial]) -> Iterator[Learning]:
    """Narrow the uncertain inputs of a build by trials, and yield how far that is: it takes seconds.

    Raises:
        ValueError: no trial, a measurement or its scatter is no finite number above zero, nothing is uncertain that
            the trials depend on, or no head that is found within the spreads gives what was measured.
    """
    aim = _Aim(build, trials)
    place, expected = _nearest_head(aim)
    _refuse_what_is_not_reached(trials, aim.at(place)[0])
    for step in in_steps(aim.log_likelihood, len(aim.inputs), power=_LEARNING, seed=_SEED):
        found = None if step.posterior is None else _told(aim, place, expected, step.posterior)
        yield Learning(step.done, step.of, found)


class _Aim:
    """What was measured, and how far heads are from it."""

    def __init__(self, build: Build, trials: Sequence[Trial]) -> None:
        if not trials:
            raise ValueError("no trial was made: there is nothing to learn from")
        for trial in trials:
            if not (math.isfinite(trial.measured) and math.isfinite(trial.deviation) and trial.deviation > 0):
                raise ValueError(
                    f"{trial.name}: {trial.quantity.text(trial.measured)}, scatter "
                    f"{trial.quantity.text(trial.deviation)}: give a finite number, and a scatter above zero"
                )
        self.build, self.trials = build, tuple(trials)
        self.measured = list(dict.fromkeys(trial.quantity for trial in trials))
        self.inputs = uncertain_of(build, self.measured)
        if not self.inputs:
            raise ValueError("nothing that these trials depend on has a spread in this build: give low and high")
        self.slopes = _Slopes(build, self.inputs, self.measured)
        self._rows = [self.measured.index(trial.quantity) for trial in trials]
        self._seen, self._scatter = (
            np.array(x) for x in zip(*((t.measured, t.deviation) for t in trials), strict=True)
        )
        self._memory: dict[bytes, tuple[Array, Array]] = {}

    def at(self, place: Array) -> tuple[Array, Array]:
        """Return what a head gives less what was measured, and the slopes of that, in standard deviations."""
        key = place.tobytes()
        if key not in self._memory:
            results, sloping = self.slopes.at(place)
            apart = (results[self._rows] - self._seen) / self._scatter
            apart = np.nan_to_num(apart, nan=_NO_VALUE, posinf=_NO_VALUE, neginf=-_NO_VALUE)
            slopes = np.nan_to_num(sloping[self._rows] / self._scatter[:, None], posinf=0.0, neginf=0.0)
            self._memory[key] = apart, slopes
        return self._memory[key]

    def apart(self, columns: dict[Quantity, Array], *, enough: float = _AT_REST) -> Array:
        """Return what heads give less what was measured (trial by head), in standard deviations of the measurement."""
        found = results_at(self.build, self.measured, columns, enough=enough)[self._rows]
        return np.asarray((found - self._seen[:, None]) / self._scatter[:, None])

    def drawn(self, scores: Array) -> dict[Quantity, Array]:
        """Return inputs (SI columns) whose places in their triangles are those of scores in a standard bell curve."""
        return Draws(self.inputs, special.ndtr(scores), _SEED).of(self.build)

    def log_likelihood(self, scores: Array) -> Array:
        """Return the logarithm of the likelihood of heads, one row of scores each; NaN where one delivers nothing."""
        return np.asarray(-0.5 * (self.apart(self.drawn(scores), enough=_DRAWN_AT_REST) ** 2).sum(axis=0))


def _nearest_head(aim: _Aim) -> tuple[Array, Array]:
    """Return the place of the head that is nearest to what was measured, and how far draws of the build are from it."""
    slopes, columns = aim.slopes, crowd_of(aim.build, aim.inputs, _DRAWS)
    drawn, expected = slopes.places(columns), aim.apart(columns)
    near = drawn[np.argsort(_misfit(expected, drawn), kind="stable")[:_NEAREST]]
    tried = np.vstack([np.zeros(len(aim.inputs)), *(share * near for share in _SHARES)])
    apart = aim.apart(dict(zip(aim.inputs, slopes.si(tried).T, strict=True)))
    order = np.argsort(_misfit(apart, tried), kind="stable")
    return _nearest(aim.at, tried[order[:_STARTS]], len(aim.trials), slopes), expected


def _misfit(apart: Array, places: Array) -> Array:
    """Return how far places are off, in squares: from what was measured (trial by place), and from the mean."""
    counted = np.nan_to_num(apart, nan=_NO_VALUE, posinf=_NO_VALUE, neginf=-_NO_VALUE)
    return np.asarray((counted**2).sum(axis=0) + (places**2).sum(axis=1))


def _nearest(at: Callable[[Array], tuple[Array, Array]], starts: Array, trials: int, slopes: _Slopes) -> Array:
    """Return the place whose head fits both the trials and the spreads best, of those that some starts lead to.

    Args:
        at: residuals and their slopes at a place, in standard deviations.
        starts: places to begin from, one row each, the most promising first.
        trials: how many measurements are fitted.
    """
    enough = float(special.chdtri(trials, 1 - _USUAL))
    best, least = starts[0], math.inf
    for start in starts:
        fit = least_squares(
            lambda x: np.concatenate([at(x)[0], x]),
            np.clip(start, slopes.low + 1e-9, slopes.high - 1e-9),
            jac=lambda x: np.vstack([at(x)[1], np.eye(len(x))]),
            bounds=(slopes.low, slopes.high),
            ftol=1e-3,
            xtol=1e-3,
            gtol=1e-4,
            max_nfev=_TRIES,
        )
        if 2 * fit.cost < least:
            best, least = fit.x, 2 * fit.cost
        if least <= enough:
            break
    return np.asarray(best)


def _refuse_what_is_not_reached(trials: Sequence[Trial], residuals: Array) -> None:
    """Refuse to learn from trials that the nearest head does not give: what it would teach is wrong and looks sure.

    Raises:
        ValueError: a trial lies far from what the nearest head gives; the message names each.
    """
    far = [
        f"the {trial.name} gave {trial.quantity.text(trial.measured)}, "
        + (
            "and where it would be near the head delivers nothing"
            if abs(residual) >= _NO_VALUE
            else f"and the nearest head {trial.quantity.text(trial.measured + residual * trial.deviation)}, "
            f"{number(abs(float(residual)), 2)} of its standard deviations away"
        )
        for trial, residual in zip(trials, residuals, strict=True)
        if abs(residual) >= _FAR
    ]
    if far:
        raise ValueError(
            f"no head that was found within the spreads of this build gives what was measured: {'; '.join(far)}. Look "
            "for a mistyped unit or value, or a scatter that is stated too small. If all of it is sound, the spreads "
            "of the build are too narrow, or the model leaves something out"
        )


def _told(aim: _Aim, place: Array, expected: Array, posterior: Posterior) -> Calibrated:
    """Return what the draws say of each input; which trial did it is told by the slopes at the nearest head."""
    trials, inputs, columns = aim.trials, aim.inputs, aim.drawn(posterior.draws)
    table = np.array([columns[q] for q in inputs])
    after, covariance = table.mean(axis=1), np.atleast_2d(np.cov(table))
    deviation = np.sqrt(covariance.diagonal())
    before = [prior_of(aim.build, q) for q in inputs]
    left = deviation / np.array([spread for _, spread in before])
    narrower = left < min(TOLD, 1 - _SURE * _CHANCE / math.sqrt(posterior.effective))
    by = _by(trials, aim.at(place)[1])
    narrowed = tuple(
        Narrowed(q, prior[0], prior[1], float(mean), float(spread), bool(told), names if told else ())
        for q, prior, mean, spread, told, names in zip(inputs, before, after, deviation, narrower, by, strict=True)
    )
    surprises = tuple(filter(None, (_surprise(*pair) for pair in zip(trials, expected, strict=True))))
    learnt = _learnt(aim.build, narrowed)
    return Calibrated(learnt, narrowed, covariance, surprises, _tied(inputs, covariance, deviation))


def _by(trials: Sequence[Trial], sloping: Array) -> list[tuple[str, ...]]:
    """Return for each input the names of the trials that narrow it, those first without which it would be widest."""
    left = np.sqrt(_left(sloping).diagonal())
    without = np.array([np.sqrt(_left(np.delete(sloping, row, 0)).diagonal()) for row in range(len(trials))])
    found = []
    for shares in (left / without).T:
        by = sorted((float(share), trial.name) for share, trial in zip(shares, trials, strict=True))
        named = [name for share, name in by if share < _NAMED] or [name for _, name in by]
        found.append(tuple(dict.fromkeys(named)))
    return found


def _surprise(trial: Trial, apart: Array) -> str:
    """Say that draws of the build hardly ever give what was measured; empty where they do.

    Args:
        apart: what each draw gives less what was measured, in standard deviations of the measurement; NaN for a head
            that delivers nothing.
    """
    found = apart[np.isfinite(apart)]
    if not found.size:
        return ""
    below = float(special.ndtr(found).mean())
    if 2 * min(below, 1 - below) >= _RARE:
        return ""
    low, high = (
        trial.quantity.text(trial.measured + trial.deviation * float(end)) for end in (found.min(), found.max())
    )
    return (
        f"{trial.name}: {trial.quantity.text(trial.measured)} is not what the build led one to expect: {found.size} "
        f"draws of its spreads give {low} to {high}, the nearest of them "
        f"{number(float(np.abs(found).min()), 2)} standard deviations of the measurement away: look "
        "for a mistake in measuring, or for what the model leaves out, before you believe the rest"
    )


def _left(sloping: Array) -> Array:
    """Return the covariance that slopes say is left: the spreads count as one measurement each."""
    return np.asarray(np.linalg.inv(sloping.T @ sloping + np.eye(sloping.shape[1])), dtype=np.float64)


def _tied(inputs: Sequence[Quantity], covariance: Array, left: Array) -> str:
    together = np.triu(covariance / np.outer(left, left), 1)
    i, j = divmod(int(np.argmax(np.abs(together))), len(inputs))
    if abs(together[i, j]) < 0.5:
        return ""
    way = "falls" if together[i, j] < 0 else "rises"
    return (
        f"{inputs[i].name_in_words} and {inputs[j].name_in_words} are known together better than each alone: if one is "
        f"higher, the other {way} (correlation {number(float(together[i, j]), 2)}); a build keeps only the spread of "
        "each"
    )


def _learnt(build: Build, narrowed: Sequence[Narrowed]) -> Build:
    """Return the build with the spreads that are left, each a triangle with mean and standard deviation of the draws.

    The means, and not the nearest head: what is not told stays where it was, and a head in the midst of those that are
    left mostly gives what was measured then, where one at their edge may convey in the other way.
    """
    entries = dict(build.entries)
    learnt: dict[str, list[str]] = {}
    for one in narrowed:
        if not one.told:
            continue
        q, reach = one.quantity, _HALF_WIDTH * one.deviation
        low, high = max(one.after - reach, q.si(q.low)), min(one.after + reach, q.si(q.high))
        entries[q] = Entry(one.after, low, high)
        learnt.setdefault(one.by[0], []).append(q.name_in_words)
    words = [f"{trial}: {', '.join(inputs)}" for trial, inputs in learnt.items()]
    note = f"{build.note}; from trials ({'; '.join(words)})" if words else build.note
    return replace(build, entries=entries, note=note.strip("; "))


@dataclass(frozen=True)
class Expected:
    """What a trial would leave of the spread of a chosen result, and what it would do to the verdict on its margin.

    Attributes:
        name: of the trial.
        left: share of the standard deviation that would be left, as a mean over what the trial may bring.
        most: the input that it would narrow most, and the share left of that; None where it narrows none.
        holds: chance that the result holds its margin as the build stands, if the head delivers at all; NaN for a
            result without a margin.
        right: chance that the likelier verdict is the right one after the trial; before it, it is the larger of
            ``holds`` and its rest.
        turned: chance that the trial turns the likelier verdict round.
    """

    name: str
    left: float
    most: tuple[Quantity, float] | None
    holds: float = math.nan
    right: float = math.nan
    turned: float = math.nan


class _Crowd:
    """Draws of all that is uncertain in a build, at work; what they give is computed as it is asked for."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.inputs = tuple(q for q, (low, high) in build.ends.items() if low < high and q not in build.network.assumed)
        columns = crowd_of(build, self.inputs, _CROWD)
        self.drawn = np.array([columns[q] for q in self.inputs])
        self._rested = _rested(build, columns)
        self._found: dict[Quantity, Array] = {}

    def of(self, results: Sequence[Quantity]) -> list[Array]:
        """Return results, SI, one number a draw; NaN where a head delivers nothing."""
        if asked := [q for q in results if q not in self._found]:
            self._found |= zip(asked, _swept(self.build, asked, self._rested), strict=True)
        return [self._found[q] for q in results]


@lru_cache(maxsize=1)
def _crowd(build: Build) -> _Crowd:
    """Return the draws of a build; those of the last are kept: who asks for one margin after the other waits once."""
    return _Crowd(build)


def rank_trials(build: Build, result: Quantity, kinds: Sequence[Kind] = KINDS) -> list[Expected]:
    """Return the trials in order of what they would leave of the spread of ``result``, the most telling first.

    Draws of all that is uncertain go through the whole head. Each in turn is taken for the truth, and the trial is made
    on it with its scatter; the other draws then count by how well they agree with what it brought (Bayes' rule). What
    they still differ by is what the trial leaves. No slope is taken: it holds across jumps as well. Trials that the
    build has no values for are left out, and those of what it takes for known.

    Raises:
        ValueError: the result has no value in this build, or nothing that it depends on has a spread.
    """
    known = [k for k in kinds if k.quantity in build.solution.values and uncertain_of(build, [k.quantity])]
    if not uncertain_of(build, [result]):
        raise ValueError(f"{result.name_in_words} depends on nothing that has a spread in this build")
    crowd = _crowd(build)
    values, *tried = crowd.of([result, *(kind.quantity for kind in known)])
    some = values[np.isfinite(values)]
    if some.size < _FEWEST:
        raise ValueError(f"{result.name_in_words} has no value in nearly all draws of this build's spreads")
    if np.ptp(some) <= _ALIKE * np.abs(some).max():
        raise ValueError(f"{result.name_in_words} is the same in all draws: nothing uncertain moves it")
    margin = next((m for m in build.network.margins.values() if m.quantity == result), None)
    # A head that delivers nothing can be neither weighed nor judged; the same heads count for all trials.
    rows = np.flatnonzero(np.isfinite([values, *tried]).all(axis=0))
    if rows.size < _FEWEST:
        raise ValueError(
            f"{result.name_in_words}: in nearly all draws of this build's spreads the head delivers nothing"
        )
    random = np.random.default_rng(_SEED)
    found = []
    for kind, seen in zip(known, tried, strict=True):
        scatter = usual_of(build, kind) * np.abs(seen[rows])
        if not scatter.all():
            continue
        weights = _agreeing(seen[rows], scatter, random)
        left = _left_of(weights, np.vstack([values[rows], crowd.drawn[:, rows]]))
        best = int(left[1:].argmin())
        most = (crowd.inputs[best], float(left[1:][best])) if left[1:][best] < TOLD else None
        found.append(Expected(kind.name, float(left[0]), most, *_chances(weights, values[rows], margin)))
    return sorted(found, key=lambda one: strength(one.left))


def _agreeing(seen: Array, scatter: Array, random: np.random.Generator) -> Array:
    """Return how much each draw (column) counts after a trial on each other one (row); each row adds up to one.

    The draw that the trial was made on counts for nothing: else a lonely one would seem to be known for sure.
    """
    brought = seen + scatter * random.standard_normal(len(seen))
    logs = -0.5 * ((brought[:, None] - seen) / scatter) ** 2 - np.log(scatter)
    np.fill_diagonal(logs, -np.inf)
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _left_of(weights: Array, values: Array) -> Array:
    """Return the share of the standard deviation of each row of values that is left, as a mean over all trials."""
    means = values @ weights.T
    squares = np.maximum((values**2) @ weights.T - means**2, 0.0)
    # Few draws that agree differ by less than many: as for a standard deviation of few readings.
    alone = (weights**2).sum(axis=1)
    squares = squares / np.maximum(1 - alone, _LONELY)
    return np.asarray(np.sqrt(np.minimum(squares.mean(axis=1) / values.var(axis=1), 1.0)))


def _chances(weights: Array, values: Array, margin: Margin | None) -> tuple[float, float, float]:
    """Return the chances to hold a margin, that the verdict after a trial is right, and that it is turned round."""
    if margin is None:
        return math.nan, math.nan, math.nan
    held = margin.holds(values).astype(np.float64)
    before, after = float(held.mean()), weights @ held
    turned = float(((after > 0.5) != (before > 0.5)).mean())
    return before, float(np.maximum(after, 1 - after).mean()), turned
