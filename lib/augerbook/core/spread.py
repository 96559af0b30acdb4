"""What a result depends on, and how the spread of the inputs spreads it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from augerbook.core.margin import Margin, Requirement, Verdict
from augerbook.core.network import Choices, Network, NetworkError, Values
from augerbook.core.quantity import Quantity
from augerbook.core.units import number

#: Relative step of the central difference behind `elasticities`.
_STEP = 1e-4
#: An effect, as share of a result or in kelvins, that is none but for rounding.
_NO_EFFECT = 1e-9

#: Moves that, added up, leave less than this share of a result come near nought, or go beyond it.
_FAR_DOWN = 0.1


@dataclass(frozen=True)
class Share:
    """One input's part in the spread of a result.

    ``at_low`` and ``at_high`` are the result (SI) with this input alone at its ends; ``share`` is its part of the
    sum of squares, 0 to 1.
    """

    quantity: Quantity
    at_low: float
    at_high: float
    share: float


@dataclass(frozen=True)
class Spread:
    """A result with its spread: nominal, and low and high from the inputs' effects added in quadrature (SI).

    An input at whose ends the result is not defined counts in neither: its share tells, and `lost` names it.
    """

    nominal: float
    low: float
    high: float
    shares: tuple[Share, ...]

    @property
    def lost(self) -> tuple[Quantity, ...]:
        """The inputs within whose spread the result is not defined everywhere."""
        return tuple(s.quantity for s in self.shares if not (math.isfinite(s.at_low) and math.isfinite(s.at_high)))


def strength(effect: float) -> float:
    """Return the size of an effect to sort by: equal ones stay in their order, whatever a processor's last bits."""
    return float(f"{abs(effect):.4g}")


def in_doubt(margin: Margin, value: float | None, around: Spread | None) -> bool:
    """Whether a margin, good at its value (SI), lies beyond its limit, or has no value, somewhere within its spread."""
    if around is None or margin.verdict(value) is not Verdict.GOOD:
        return False
    ends = [around.low, around.high] if math.isfinite(around.nominal) else []
    return bool(around.lost) or any(margin.verdict(end) is Verdict.FAILS for end in ends)


def spread_in_words(quantity: Quantity, around: Spread) -> str:
    """Say from where to where a result goes, and for which inputs it goes beyond what is defined; empty for neither.

    A result that is not defined, or without limit, has no spread.
    """
    if not math.isfinite(around.nominal):
        return ""
    words = []
    low, high = quantity.text(around.low), quantity.text(around.high)
    if low != high:  # to the digits shown
        words.append(f"{low} to {high}")
    if around.lost:
        words.append(f"no value within the spread of {', '.join(q.name_in_words for q in around.lost)}")
    return "; ".join(words)


def sharers_in_words(around: Spread, most: int = 3) -> str:
    """Say which inputs a spread comes from, with their shares: those of a tenth and more."""
    shares = [s for s in around.shares if s.share >= 0.1][:most]
    return ", ".join(f"{s.quantity.name_in_words} ({100 * s.share:.0f} %)" for s in shares)


def elasticities(
    network: Network,
    outputs: Sequence[Quantity],
    values: Values,
    choices: Choices | None = None,
    inputs: Sequence[Quantity] | None = None,
) -> dict[Quantity, list[tuple[Quantity, float]]]:
    """Return for each output what it depends on, strongest first: per cent of the output per per cent of the value.

    Everything given counts, a measured result too; ``inputs`` narrows it down. Central differences, all values of all
    outputs in one array call. Values that are zero are left out.
    """
    chosen = dict(choices or {})
    known = network.plan(frozenset(values), frozenset(chosen.items()), frozenset()).known
    computable = [q for q in outputs if q in known]
    upstream = network.upstream(computable, values, chosen)
    candidates = network.quantities.values() if inputs is None else inputs
    relevant = [q for q in candidates if q in upstream and values.get(q, 0.0) != 0.0]
    if not computable or not relevant:
        return {}
    sweep = network.compile(computable, relevant, values, chosen)
    base = np.array([values[q] for q in relevant])
    count = len(relevant)
    table = np.tile(base, (2 * count + 1, 1))
    for i in range(count):
        table[2 * i, i] *= 1 + _STEP
        table[2 * i + 1, i] *= 1 - _STEP
    found: dict[Quantity, list[tuple[Quantity, float]]] = {}
    for output, column in zip(computable, sweep(*table.T), strict=True):
        nominal = column[-1]
        if nominal == 0 or not math.isfinite(nominal):
            found[output] = []
            continue
        slopes = (column[0:-1:2] - column[1:-1:2]) / (2 * _STEP * nominal)
        pairs = [
            (q, float(s)) for q, s in zip(relevant, slopes, strict=True) if math.isfinite(s) and abs(s) > _NO_EFFECT
        ]
        found[output] = sorted(pairs, key=lambda pair: -strength(pair[1]))
    return found


@dataclass(frozen=True, eq=False)
class OneStep:
    """A step of one input that somebody can take.

    Attributes:
        quantity: the input.
        words: the step as it is told, ``"set temperature +1 °C"``, ``"plate thickness 2 to 3 mm"``.
        values: what takes which value (SI) with it: the input, and what moves along.
    """

    quantity: Quantity
    words: str
    values: Values


def small_steps(quantity: Quantity, si: float) -> list[OneStep]:
    """Return a small step up and one down, for a value in SI: one per cent, or one degree where zero is convention."""
    size, told = (1.0, "1 °C") if quantity.on_a_scale else (0.01 * abs(si), "1 %")
    return [
        OneStep(quantity, f"{quantity.name_in_words} {sign}{told}", {quantity: si + way * size})
        for sign, way in (("+", 1), ("-", -1))
        if size
    ]


def effects(
    network: Network,
    outputs: Sequence[Quantity],
    values: Values,
    steps: Sequence[OneStep],
    choices: Choices | None = None,
) -> dict[Quantity, list[tuple[OneStep, float]]]:
    """Return for each output the steps that move it, the one that moves it most first, each with its effect.

    An effect is a share of the output, and kelvins where the output is a temperature. Of several steps of one input
    counts the first after which the output still has a value. All of all outputs in one array call.
    """
    chosen = dict(choices or {})
    known = network.plan(frozenset(values), frozenset(chosen.items()), frozenset()).known
    computable = [q for q in outputs if q in known]
    upstream = network.upstream(computable, values, chosen)
    taken = [step for step in steps if not upstream.isdisjoint(step.values)]
    moved = [q for q in dict.fromkeys(q for step in taken for q in step.values) if q in values]
    if not computable or not moved:
        return {}
    table = np.array([[step.values.get(q, values[q]) for q in moved] for step in (*taken, OneStep(moved[0], "", {}))])
    found: dict[Quantity, list[tuple[OneStep, float]]] = {}
    for output, column in zip(computable, network.compile(computable, moved, values, chosen)(*table.T), strict=True):
        nominal = float(column[-1])
        first: dict[Quantity, tuple[OneStep, float]] = {}
        if math.isfinite(nominal) and (nominal or output.on_a_scale):
            for step, after in zip(taken, column, strict=False):
                effect = (float(after) - nominal) / (1.0 if output.on_a_scale else abs(nominal))
                if math.isfinite(effect):
                    first.setdefault(step.quantity, (step, effect))
        moving = [pair for pair in first.values() if abs(pair[1]) > _NO_EFFECT]
        found[output] = sorted(moving, key=lambda pair: -strength(pair[1]))
    return found


def effects_in_words(output: Quantity, moves: Sequence[tuple[OneStep, float]], most: int = 3) -> str:
    """Say which steps move a result most, and by how much, from its `effects`; empty for nothing."""
    unit, factor = ("°C", 1.0) if output.on_a_scale else ("%", 100.0)
    return "; ".join(
        f"{step.words}: {'+' if effect > 0 else ''}{number(factor * effect, 2)} {unit}" for step, effect in moves[:most]
    )


def spread(
    network: Network,
    output: Quantity,
    values: Values,
    ends: Mapping[Quantity, tuple[float, float]],
    choices: Choices | None = None,
) -> Spread:
    """Propagate input spreads to one ``output``: see `spreads`.

    Raises:
        NetworkError: the output cannot be computed; the message says what is missing.
    """
    return spreads(network, [output], values, ends, choices)[output]


def spreads(
    network: Network,
    outputs: Sequence[Quantity],
    values: Values,
    ends: Mapping[Quantity, tuple[float, float]],
    choices: Choices | None = None,
) -> dict[Quantity, Spread]:
    """Propagate input spreads, ``ends[quantity] = (low, high)`` in SI, to ``outputs`` in one array call.

    Each input is moved alone to its ends; the moves down and up are added in quadrature. This is exact for a
    linear result of independent inputs and an estimate otherwise; `monte_carlo` tells how far it is off. It goes no
    further than with all inputs together at their ends, where two of them lead to one other state each by itself; ends
    that cannot be together (a part wider than what holds it) go only as far as they can. A result that is declared
    positive or not negative gets no spread below zero.

    Raises:
        NetworkError: an output cannot be computed; the message says what is missing.
    """
    uncertain = list(ends)
    if not uncertain:
        solution = network.solve(values, choices)
        if absent := [f"{q.name_in_words} {solution.why_missing(q)}" for q in outputs if q not in solution.values]:
            raise NetworkError(f"cannot compute: {'; '.join(absent)}")
        return {q: Spread(solution[q], solution[q], solution[q], ()) for q in outputs}
    sweep = network.compile(outputs, uncertain, values, choices)
    table = np.tile(np.array([values[q] for q in uncertain]), (2 * len(uncertain) + 1, 1))
    for i, quantity in enumerate(uncertain):
        table[2 * i, i], table[2 * i + 1, i] = ends[quantity]
    columns = sweep(*table.T)
    corners = np.concatenate([_corners(table, column) for column in columns])
    _keep_possible(network.requirements, values, uncertain, corners)
    together = sweep(*corners.T)
    return {
        output: _gathered(output, uncertain, column, beside[2 * i : 2 * i + 2])
        for i, (output, column, beside) in enumerate(zip(outputs, columns, together, strict=True))
    }


def _corners(table: NDArray[np.float64], column: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return two rows of inputs: each at the end that alone makes a result least, and each where it makes it most.

    Where a result is not defined at an end, its input stays nominal.
    """
    nominal, at_low, at_high = column[-1], column[0:-1:2], column[1:-1:2]
    low, high = table[0:-1:2].diagonal(), table[1:-1:2].diagonal()
    rows = np.tile(table[-1], (2, 1))
    defined = np.isfinite(at_low) & np.isfinite(at_high)
    for row, sign in enumerate((1.0, -1.0)):
        to_low, to_high = sign * at_low < sign * nominal, sign * at_high < sign * nominal
        lower = to_low & (~to_high | (sign * at_low <= sign * at_high))
        rows[row] = np.where(defined & lower, low, np.where(defined & to_high, high, rows[row]))
    return rows


def _keep_possible(
    requirements: Sequence[Requirement], values: Values, uncertain: Sequence[Quantity], rows: NDArray[np.float64]
) -> None:
    """Take inputs that cannot go together back towards their nominal values, in place, until they just can."""
    places = {quantity: i for i, quantity in enumerate(uncertain)}
    for requirement in requirements:
        small, large = requirement.smaller, requirement.larger
        if small not in values or large not in values or places.keys().isdisjoint((small, large)):
            continue
        room = values[large] - values[small]
        moved = {q: rows[:, places[q]] - values[q] for q in (small, large) if q in places}
        closer = moved.get(small, 0.0) - moved.get(large, 0.0)
        crossed = closer > room
        if room > 0 and crossed.any():
            for quantity, by in moved.items():
                rows[crossed, places[quantity]] = values[quantity] + by[crossed] * room / closer[crossed]


def _gathered(
    output: Quantity, uncertain: Sequence[Quantity], column: NDArray[np.float64], together: NDArray[np.float64]
) -> Spread:
    """Gather a result computed with each input at its low and high end in turn, and last with all nominal.

    ``together`` are the result's values with all inputs at the ends that make it least, and most.
    """
    nominal = float(column[-1])
    at_low, at_high = column[0:-1:2], column[1:-1:2]
    # Where an end leads beyond what is defined, its share says so; the others still have a spread.
    defined = np.isfinite(at_low) & np.isfinite(at_high)
    low_end, high_end = np.where(defined, at_low, nominal), np.where(defined, at_high, nominal)
    with np.errstate(invalid="ignore"):  # a result without limit has a spread that is no number
        down = np.minimum(np.minimum(low_end, high_end) - nominal, 0.0)
        up = np.maximum(np.maximum(low_end, high_end) - nominal, 0.0)
        squares = (high_end - low_end) ** 2
    total = float(squares.sum())
    shares = [
        Share(q, float(lo), float(hi), float(s) / total if total > 0 else 0.0)
        for q, lo, hi, s in zip(uncertain, at_low, at_high, squares, strict=True)
    ]
    shares.sort(key=lambda s: -strength(s.share))
    low, high = nominal - float(np.sqrt((down**2).sum())), nominal + float(np.sqrt((up**2).sum()))
    if output.is_nonnegative and nominal > 0 and low < _FAR_DOWN * nominal:
        # It can never be negative, and is curved: add the factors up in quadrature instead of the moves.
        with np.errstate(divide="ignore"):  # an end may leave nothing
            factor = math.exp(-float(np.sqrt((np.log1p(np.maximum(down / nominal, -1.0)) ** 2).sum())))
        low = max(low, nominal * factor)
    # Not nearer than one input alone leads, should the others hold it back.
    ends = np.array([nominal, *low_end, *high_end])
    if math.isfinite(together[0]):
        low = max(low, min(float(together[0]), float(ends.min())))
    if math.isfinite(together[1]):
        high = min(high, max(float(together[1]), float(ends.max())))
    return Spread(nominal, low, high, tuple(shares))


def monte_carlo(
    network: Network,
    outputs: Sequence[Quantity],
    values: Values,
    ends: Mapping[Quantity, tuple[float, float]],
    choices: Choices | None = None,
    *,
    samples: int = 4096,
    seed: int = 1,
) -> dict[Quantity, NDArray[np.float64]]:
    """Draw each uncertain input from a triangle (low, nominal, high) and return the outputs' samples (SI).

    Raises:
        NetworkError: an output cannot be computed; the message says what is missing.
        ValueError: no input has a spread.
    """
    random = np.random.default_rng(seed)
    uncertain = [q for q, (low, high) in ends.items() if low < high]
    if not uncertain:
        raise ValueError("no input has a spread")
    drawn = [random.triangular(ends[q][0], values[q], ends[q][1], samples) for q in uncertain]
    results = network.compile(outputs, uncertain, values, choices)(*drawn)
    return dict(zip(outputs, results, strict=True))
