"""What may be changed in a build to better a margin: sizes as sold, rows of tables, other kinds, each put through it.

Nothing here is a rule of thumb. Every size that a builder can buy or set is tried in the whole head, one change at a
time, and told with what it does to the margin and to all others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build, usable_rows, within
from augerbook.builds.turned import can_be_turned
from augerbook.core.fixed_point import AT_REST, within_range
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.spread import OneStep, in_doubt, small_steps, spreads
from augerbook.deciding.candidates import Item, from_to, unanswered
from augerbook.deciding.motors import DRIVES, carried
from augerbook.deciding.work import Piece, work
from augerbook.head.bearing import axial_preload, bearing, bearing_bore, bearing_outside_diameter
from augerbook.head.carriage import hopper_height, motor_height, plate_height, rail_height
from augerbook.head.drive import gear_ratio, microsteps, motor, set_current, setscrew_count
from augerbook.head.feedstock import drying_time, sieve_mesh, standard_sieve
from augerbook.head.heating import cooler_end, cooler_kind, set_temperature
from augerbook.head.hopper import hopper_stirring, inlet_length, outlet_diameter, slot_width
from augerbook.head.nozzle import nozzle_diameter, nozzle_thread_length
from augerbook.head.plate import (
    plate_material,
    plate_span,
    plate_support,
    plate_thickness,
    plate_youngs_modulus,
    seat_diameter,
)
from augerbook.head.printing import (
    print_acceleration,
    retraction_speed,
    retraction_volume,
    slow_speed,
    wanted_flow,
)
from augerbook.head.screw import core_diameter, flighted_length, standard_screw
from augerbook.head.trials import screws_compared, weighings
from augerbook.head.tube import bore_diameter, break_start, tube_length, tube_outside_diameter
from augerbook.settle import ROUNDS
from augerbook.tables import Row, read_table

Array = NDArray[np.float64]
#: SI values by quantity.
Values = Mapping[Quantity, float]

#: Table rows and kinds that a builder picks. Of what touches hot plastic the metal stays: friction was measured on it.
ROWS: tuple[Lookup, ...] = (standard_screw, standard_sieve, bearing, motor, plate_material)
KINDS: tuple[Choice, ...] = (plate_support, cooler_kind, hopper_stirring)
#: Sizes that are bought: `stock.csv` holds those that are sold.
SOLD: tuple[Quantity, ...] = (plate_thickness, tube_outside_diameter, bore_diameter, nozzle_diameter, gear_ratio)
#: Sizes that are cut and values that are set, with their step in the unit shown.
STEPS: dict[Quantity, float] = {
    tube_length: 5.0, plate_span: 5.0, nozzle_thread_length: 1.0, inlet_length: 2.0, outlet_diameter: 2.0,
    slot_width: 1.0, setscrew_count: 1.0, axial_preload: 5.0, set_temperature: 5.0, drying_time: 1.0,
}  # fmt: skip
#: Values that are set to preferred numbers: each about a quarter more than the one before.
SET: tuple[Quantity, ...] = (
    set_current, print_acceleration, retraction_volume, retraction_speed, slow_speed, wanted_flow,
)  # fmt: skip
#: What is counted, and what goes by factors of two: no search tries them, but a step of them is that.
_COUNTED, _DOUBLED = (weighings, screws_compared), (microsteps,)
#: A size that rows of a table have alone.
_BY_ROW = {quantity: lookup for lookup in ROWS if len(lookup.fills) == 1 for quantity in lookup.fills}
#: What lies at the hot end of the tube, or is measured from the tip of the nozzle, moves with the tube's length.
_WITH_LENGTH = (flighted_length, cooler_end, break_start, rail_height, motor_height, plate_height, hopper_height)
#: So many steps up and down are tried, so many rows nearest in size.
_MOST_STEPS, _MOST_ROWS = 6, 8
#: Of preferred numbers a whole decade.
_MOST_NUMBERS = 10
#: Heads that are computed at a time, so that a page may do something else in between.
_AT_A_TIME = 16
#: So many items are put through the whole head, and so many steps of each.
_MOST_ITEMS, _MOST_OF_ONE = 8, 2
#: A change must go this share of the way to good, and a margin that is good already be bettered by as much again.
_LEAST_GAIN = 0.05
#: A margin beyond its limit gets worse by as much as this share of its way to good.
_MUCH_FARTHER = 0.25
#: How much a margin that gets worse counts against a change, by what it becomes.
_COST = {Verdict.TIGHT: 1.0, Verdict.FAILS: 4.0, Verdict.UNKNOWN: 8.0}
#: Young's modulus (Pa) between those of plastics and those of metals.
_STIFFEST_PLASTIC = 20e9
#: How much it counts against a change that it only asks less of the head.
_LESS_ASKED = 0.7
#: How bad a verdict is.
RANK = {Verdict.GOOD: 0, Verdict.TIGHT: 1, Verdict.FAILS: 2, Verdict.UNKNOWN: 3}


@dataclass(frozen=True, eq=False)
class Change:
    """One thing that may be changed in a build.

    Attributes:
        item: what is changed.
        words: from what to what, ``"plate thickness 2 to 6 mm"``; empty for the build as it is.
        build: the build with it, and with what has to move along.
        step: how far it goes, as logarithm of the ratio of the sizes; for another kind without a size 0.
    """

    item: Item
    words: str
    build: Build
    step: float = 0.0


@dataclass(frozen=True)
class Tried:
    """What came of a change, with the head brought to rest.

    Attributes:
        change: what was tried.
        build: the build with it, and with torque, speed and shares of heat as the operating point then finds them.
        values: SI of what the margins watch; NaN where there is none.
        at_rest: whether torque and heat came to rest; where not, the values are those of the last round.
    """

    change: Change
    build: Build
    values: Values
    at_rest: bool

    def verdict(self, margin: Margin) -> Verdict:
        """Judge a margin at its value."""
        return margin.verdict(self.values.get(margin.quantity))


@dataclass(frozen=True)
class Offer:
    """A change that betters a margin, with what it does to the others.

    Attributes:
        tried: the change and what came of it.
        before, after: SI values of the margin.
        worse, better: the other margins whose verdict changes for the worse and for the better; worse is as well what
            is beyond its limit already, and much farther then.
        in_doubt: whether it is good at its value, and beyond its limit somewhere within its spread.
        broken: what it means that conditions of the head do not hold any more, in words; those on the way to the margin
            first.
    """

    tried: Tried
    margin: Margin
    before: float
    after: float
    worse: tuple[Margin, ...]
    better: tuple[Margin, ...]
    in_doubt: bool = False
    broken: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The verdict on the margin after the change, at its value."""
        return self.margin.verdict(self.after)


@cache
def sold(quantity: Quantity) -> tuple[float, ...]:
    """Return the sizes, or the ratios (SI), in which something is sold, the smallest first."""
    rows = read_table("stock").rows.values()
    found = (row.si(column) for row in rows if row.text("kind") == quantity.key for column in ("size", "ratio"))
    return tuple(sorted(size for size in found if size is not None))


@cache
def preferred(low: float, high: float) -> tuple[float, ...]:
    """Return the preferred numbers between two plain numbers, the smallest first."""
    numbers = [row.si("number") or 0.0 for row in read_table("preferred_numbers").rows.values()]
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    return tuple(sorted(n * 10.0**p for p in powers for n in numbers if low <= n * 10.0**p <= high))


def levers(build: Build) -> list[Item]:
    """Return what may be changed in a build: nothing measured, and nothing that its kinds do not use."""
    # What is sold, cut or set is for the builder to decide also where it was only estimated so far.
    turned = {*can_be_turned(build), *(q for q, entry in build.entries.items() if entry.estimated)}
    sizes = [q for q in (*SOLD, *STEPS, *SET) if q in turned]
    rows = [item for item in ROWS if item in build.names or (item is standard_sieve and sieve_mesh in turned)]
    kinds = [item for item in KINDS if item in build.choices]
    if unanswered(build, {sieve_mesh: []}):
        rows = [item for item in rows if item is not standard_sieve]
    return [*rows, *kinds, *sizes]


def levers_of(build: Build, margin: Margin) -> list[Item]:
    """Return what may be changed in a build and moves a margin, by way of what the circles find as well."""
    network, wanted = build.network, [margin.quantity, *(circle.found for circle in build.network.circles)]
    known = [q for q in wanted if q in build.solution.values]
    if margin.quantity not in known:
        return []
    own = network.upstream([margin.quantity], build.values, build.choices) | {margin.quantity}
    if not network.assumed.isdisjoint(own):
        own |= network.upstream(known, build.values, build.choices)
    chain = [*network.chain(known, build.values, build.choices)]
    kinds = {node.choice for node in chain if node.choice is not None and set(node.outputs) & own}
    found: list[Item] = []
    for item in levers(build):
        if isinstance(item, Choice):
            moves = item in kinds
        elif isinstance(item, Lookup):
            moves = bool(set(item.fills) & own)
        else:
            moves = not own.isdisjoint((item, *_moved_along(build, item)))
        if moves:
            found.append(item)
    return found


def _moved_along(build: Build, item: Item) -> list[Quantity]:
    if item is tube_length:
        return [q for q in _WITH_LENGTH if q in build.values and q not in build.ends]
    if item is bearing:
        return [seat_diameter, plate_span] if _seat_follows(build) else []
    if item in DRIVES:
        return [pair.assumed for pair in build.network.findings if pair.assumed in build.values]
    return []


def _seat_follows(build: Build) -> bool:
    seat, outside = build.values.get(seat_diameter), build.values.get(bearing_outside_diameter)
    return seat is not None and outside is not None and math.isclose(seat, outside, rel_tol=1e-6)


def changes(build: Build, items: Sequence[Item]) -> list[Change]:
    """Return each size, row and kind that may be tried for some items, as builds that can be built."""
    found = [change for item in items for change in _of(build, item)]
    return [change for change in _carried(build, found) if not change.build.clashes()]


def _of(build: Build, item: Item) -> Iterator[Change]:
    if isinstance(item, Choice):
        for option in item.options:
            if option != build.choices[item]:
                words = f"{item.name_in_words}: {build.choices[item]} to {option}"
                yield Change(item, words, build.with_choice(item, option))
    elif isinstance(item, Lookup):
        yield from _rows(build, item)
    else:
        at = build.values[item]
        for si in _values(item, at):
            yield Change(
                item, from_to(item, at, si), _with_value(build, item, si), _apart(item.shown(at), item.shown(si))
            )


def _values(quantity: Quantity, at: float) -> list[float]:
    """Return other SI values: sizes as sold, whole steps, or preferred numbers, some below and some above."""
    shown = float(quantity.shown(at))
    if quantity in SOLD:
        all_si = list(sold(quantity))
    elif quantity in STEPS:
        step, first = STEPS[quantity], math.floor(shown / STEPS[quantity])
        all_si = [float(quantity.si(step * (first + n))) for n in range(-_MOST_STEPS, _MOST_STEPS + 2)]
    else:
        low, high = quantity.limits
        all_si = [float(quantity.si(number)) for number in preferred(max(low, 1e-3 * high), high)]
    kept = [si for si in all_si if within(quantity, si) and not math.isclose(si, at, rel_tol=1e-6)]
    below, above = [si for si in kept if si < at], [si for si in kept if si > at]
    most = _MOST_NUMBERS if quantity in SET else _MOST_STEPS
    return [*below[-most:], *above[:most]]


def _with_value(build: Build, quantity: Quantity, si: float) -> Build:
    by = si - build.values[quantity]
    build = build.with_value(quantity, si)
    for other in _moved_along(build, quantity) if quantity is tube_length else ():
        if other is not break_start or build.values.get(other, 0.0):
            build = build.with_value(other, build.values[other] + by)
    return build


def next_steps(build: Build) -> list[OneStep]:
    """Return the next step up, then that down, of each input that a builder decides: what it moves, and how it is told.

    A step goes to the next size as sold, the next whole step or preferred number; what is nothing of these moves by a
    small step. What cannot be built, or leaves the plausible range, is no step.
    """
    found: list[Change] = []
    small: list[OneStep] = []
    for quantity in can_be_turned(build):
        at = build.values[quantity]
        if (wide := _next_values(quantity, at)) is None:
            small += (s for s in small_steps(quantity, at) if within(quantity, s.values[quantity]))
            continue
        for si in wide:
            found.append(Change(quantity, from_to(quantity, at, si), _with_value(build, quantity, si)))
    steps = [
        OneStep(change.item, change.words, _otherwise(build, change.build))
        for change in _carried(build, found)
        if isinstance(change.item, Quantity)
    ]
    kept = [step for step in (*steps, *small) if not build.network.clashes({**build.values, **step.values})]
    places = {quantity: place for place, quantity in enumerate(build.values)}
    return sorted(kept, key=lambda step: places[step.quantity])


def _next_values(quantity: Quantity, at: float) -> list[float] | None:
    """Return the next SI value above and below; None for what has a small step alone."""
    if quantity in SOLD or quantity in STEPS or quantity in SET:
        others = _values(quantity, at)
    elif (lookup := _BY_ROW.get(quantity)) is not None:
        column, rows = lookup.fills[quantity], read_table(lookup.table).rows.values()
        others = [si for row in rows if (si := row.si(column)) is not None and not math.isclose(si, at, rel_tol=1e-6)]
    elif quantity in _COUNTED or quantity in _DOUBLED:
        near = [at + 1, at - 1] if quantity in _COUNTED else [2 * at, at / 2]
        others = [si for si in near if within(quantity, si)]
    else:
        return None
    above, below = [si for si in others if si > at], [si for si in others if si < at]
    return [*sorted(above)[:1], *sorted(below)[-1:]]


def _otherwise(build: Build, other: Build) -> Values:
    """Return the values of a build that are not those of another that gives the same inputs."""
    now = {q: si for q, si in other.values.items() if isinstance(q, Quantity)}
    return {q: si for q, si in now.items() if si != build.values.get(q)}


def _rows(build: Build, lookup: Lookup) -> Iterator[Change]:
    table = read_table(lookup.table)
    first, column = next(iter(lookup.fills.items()))
    at = build.values.get(first)
    names = [name for name in usable_rows(lookup) if name != build.names.get(lookup)]
    if lookup in (standard_screw, standard_sieve) and at:
        # Nearest in size first, by ratio: a screw half as large is as far as one twice as large.
        def apart(name: str) -> float:
            return _apart(at, table.row(name).si(column) or 0.0)

        names = sorted((name for name in names if apart(name) > 1e-6 or lookup is standard_screw), key=apart)
        names = names[: 2 * _MOST_ROWS]
    for name in names:
        if (lookup is bearing and _too_small(build, name)) or (lookup is plate_material and creeps(table.row(name))):
            continue
        other = build.with_name(lookup, name)
        before = build.names.get(lookup) or (first.text(at) if at else build.named_row(lookup))
        words = f"{lookup.name_in_words}: {before} to {name}"
        if lookup is bearing and _seat_follows(build):
            other, along = _seated(other)
            words += along
        sizes = [_apart(build.values.get(q, 0.0), other.values.get(q, 0.0)) for q in lookup.fills]
        yield Change(lookup, words, other, sum(sizes) / len(sizes))


def _seated(build: Build) -> tuple[Build, str]:
    """Return a build whose bearing fills its seat, on a plate wide enough for it, and what that adds to the words.

    Of a seat wider than half of the plate no chapter can tell how it bends.
    """
    seat = build.values[bearing_outside_diameter]
    build, span = build.with_value(seat_diameter, seat), build.values.get(plate_span)
    if span is None or seat <= span / 2 or plate_span in build.ends:
        return build, ""
    step = STEPS[plate_span]
    wider = float(plate_span.si(step * math.ceil(2 * float(plate_span.shown(seat)) / step)))
    return build.with_value(plate_span, wider), f", with {from_to(plate_span, span, wider)}"


def _apart(one: float, other: float) -> float:
    """Return how far two sizes are apart, as logarithm of their ratio; 0 where one of them is none."""
    return abs(math.log(other / one)) if one > 0 and other > 0 else 0.0


def _too_small(build: Build, name: str) -> bool:
    """Whether the bore of a bearing is smaller than that at hand and than the core of the screw."""
    bore = read_table(bearing.table).row(name).si(bearing.fills[bearing_bore]) or 0.0
    least = min(build.values.get(bearing_bore, math.inf), build.values.get(core_diameter, math.inf))
    return bore < 0.999 * least


def creeps(row: Row) -> bool:
    """Whether a material is a plastic: it creeps under a load that lasts, which no margin knows of."""
    modulus = row.si(plate_material.fills[plate_youngs_modulus])
    return modulus is None or modulus < _STIFFEST_PLASTIC


def _carried(build: Build, found: Sequence[Change]) -> list[Change]:
    """Let what a build gives of the motor by hand follow another motor, current or gear; without those it cannot."""
    drives = [change for change in found if change.item in DRIVES]
    builds = dict(zip(drives, carried(build, [change.build for change in drives]), strict=True))
    followed = ((change, builds.get(change, change.build)) for change in found)
    return [replace(change, build=other) for change, other in followed if other is not None]


def _columns(builds: Sequence[Build]) -> dict[Quantity, Array]:
    """Return what differs between builds that give the same inputs, one column each (SI); one column at least."""
    first = builds[0].values
    known = [q for q in first if isinstance(q, Quantity)]
    differ = [q for q in known if any(other.values[q] != first[q] for other in builds[1:])] or known[:1]
    return {q: np.array([other.values[q] for other in builds]) for q in differ}


def _grouped(found: Sequence[Change]) -> list[list[Change]]:
    """Return changes in groups that have the same kinds and give the same inputs: each is computed in one call."""
    groups: dict[object, list[Change]] = {}
    for change in found:
        key = (frozenset(change.build.choices.items()), frozenset(change.build.values))
        groups.setdefault(key, []).append(change)
    return list(groups.values())


def promising(
    build: Build, found: Sequence[Change], margin: Margin, watched: Sequence[Margin]
) -> Iterator[list[Change]]:
    """Yield the changes that are worth being put through the whole head: a few of each item, the best items first.

    They are looked at in one round of the circles alone, in short steps: what is yielded last counts. Left out is what
    takes a value from a margin that has one.
    """
    needed = {m.quantity for m in watched if m.quantity in build.solution.values}
    at = margin.slack(build.solution[margin.quantity])
    gains: dict[Item, list[tuple[float, Change]]] = {}
    for group in _grouped(found):
        first = group[0].build
        known = build.network.plan(frozenset(first.values), frozenset(first.choices.items()), frozenset()).known
        if not needed <= known:
            continue
        for change, value in zip(group, _in_one_round(build, group, margin.quantity), strict=True):
            if (gain := margin.slack(float(value)) - at) >= _least_gain(at):
                gains.setdefault(change.item, []).append((gain, change))
        best = sorted(gains.values(), key=lambda some: -min(max(gain for gain, _ in some), 1 - min(at, 0.5)))
        yield [change for some in best[:_MOST_ITEMS] for change in _some_of(some, 1.0 - at)]


def _in_one_round(build: Build, group: Sequence[Change], quantity: Quantity) -> Array:
    """Return a result (SI) for changes that give the same inputs and kinds, after one round of what it depends on.

    Another kind of part changes little of what the circles find: these are gone round for sizes alone.
    """
    network, first = build.network, group[0].build
    columns, choices = _columns([change.build for change in group]), first.choices
    if choices == build.choices and first.values.keys() == build.values.keys():
        own = network.upstream([quantity], build.values, build.choices)
        circles = [c for c in network.circles if c.assumed in own and c.found in build.solution.values]
        if circles:
            sweep = network.compile([circle.found for circle in circles], list(columns), first.values, choices)
            for circle, result in zip(circles, sweep(*columns.values()), strict=True):
                in_range = within_range(circle.assumed, result)
                columns[circle.assumed] = np.where(np.isfinite(result), in_range, first.values[circle.assumed])
    (values,) = network.compile([quantity], list(columns), first.values, choices)(*columns.values())
    return values


def _some_of(gains: Sequence[tuple[float, Change]], wanted: float) -> list[Change]:
    """Return the smallest steps of one item that reach what is wanted, and where none does the largest gain."""
    enough = sorted((pair for pair in gains if pair[0] >= wanted), key=lambda pair: pair[1].step)
    if wanted <= 0 or not enough:
        enough = sorted(gains, key=lambda pair: -pair[0])
    most = max(gains, key=lambda pair: pair[0])[1]
    kept = [change for _, change in enough[:_MOST_OF_ONE]]
    return kept if most in kept else [*kept, most]


def tried_in_steps(
    build: Build, candidates: Sequence[Change], margins: Sequence[Margin]
) -> Iterator[tuple[Tried, ...]]:
    """Put changes through the whole head, brought to rest, and yield what came of them, some at a time.

    The first that is yielded is the build as it is, under an empty name.
    """
    network = build.network
    known = build.solution.values
    watched = [*(m.quantity for m in margins), *(c.assumed for c in network.circles)]
    outputs = tuple(dict.fromkeys(q for q in watched if q in known))
    as_it_is = Change(margins[0].quantity, "", build)
    for group in _grouped([as_it_is, *candidates]):
        for start in range(0, len(group), _AT_A_TIME):
            some = group[start : start + _AT_A_TIME]
            yield tuple(_worked(build, some, outputs))


def _worked(base: Build, some: Sequence[Change], outputs: tuple[Quantity, ...]) -> Iterator[Tried]:
    builds = [change.build for change in some]
    columns, network = _columns(builds), base.network
    fixed = {q: value for q, value in builds[0].values.items() if q not in columns}
    worked = work(Piece(network, fixed, builds[0].choices, columns, outputs, ROUNDS, (0, 0)))
    for change, column, rests in zip(some, worked.values.T, worked.at_rest, strict=True):
        values = {q: float(value) for q, value in zip(outputs, column, strict=True)}
        yield Tried(change, _at_rest(change.build, values) if change.words else base, values, bool(rests))


def _at_rest(build: Build, values: Values) -> Build:
    """Return a build with what its operating point finds in place of what it assumes."""
    for circle in build.network.circles:
        found, assumed = values[circle.assumed], build.values.get(circle.assumed)
        if assumed is not None and math.isfinite(found) and abs(found - assumed) > AT_REST * abs(assumed):
            build = build.with_found(circle.assumed, found)
    return build


def _least_gain(at: float) -> float:
    return _LEAST_GAIN * max(1.0 - at, 1.0)


def _much_farther(was: float, now: float) -> bool:
    """Whether a margin that is beyond its limit already is much farther beyond it than it was."""
    return was - now > _MUCH_FARTHER * (1.0 - was)


def judged_offer(margin: Margin, base: Tried, tried: Tried, margins: Sequence[Margin]) -> Offer:
    """Say what a change does to a margin and to the others."""
    worse: list[Margin] = []
    better: list[Margin] = []
    for other in margins:
        was, now = base.verdict(other), tried.verdict(other)
        if other is margin:
            continue
        if was is not now:
            (worse if RANK[now] > RANK[was] else better).append(other)
        elif now is Verdict.FAILS and _much_farther(
            *(other.slack(one.values[other.quantity]) for one in (base, tried))
        ):
            worse.append(other)
    before, after = (one.values[margin.quantity] for one in (base, tried))
    return Offer(tried, margin, before, after, tuple(worse), tuple(better))


def _worth(offer: Offer) -> tuple[float, ...]:
    """How much an offer is worth, more is better: first whether the margin is good, then what it costs elsewhere."""
    cost = sum(_COST.get(offer.tried.verdict(other), 0.0) for other in offer.worse)
    cost += _LESS_ASKED if offer.tried.change.item is wanted_flow else 0.0
    gain = min(0.1 * len(offer.better), 0.4)
    reaches = offer.verdict is Verdict.GOOD and offer.margin.verdict(offer.before) is not Verdict.GOOD
    far = -offer.tried.change.step if reaches else offer.margin.slack(offer.after)
    return (-RANK[offer.verdict] - 0.5 * cost + gain, far)


def ranked_offers(margin: Margin, base: Tried, found: Sequence[Tried], margins: Sequence[Margin]) -> list[Offer]:
    """Return the changes that better a margin, each of another thing, those first that do most and cost least."""
    best: dict[Item, Offer] = {}
    at = margin.slack(base.values[margin.quantity])
    for tried in found:
        after = margin.slack(tried.values[margin.quantity])
        if not (tried.at_rest and after - at >= _least_gain(at)):
            continue
        offer = judged_offer(margin, base, tried, margins)
        if (known := best.get(tried.change.item)) is None or _worth(offer) > _worth(known):
            best[tried.change.item] = offer
    return sorted(best.values(), key=_worth, reverse=True)


def with_one_that_mends(ranked: Sequence[Offer], most: int) -> list[Offer]:
    """Return offers in their order, but with one that makes the margin good among the first ``most`` if any does.

    Where it costs so much elsewhere that others stand before it, it comes last of them: the reader sees that cost.
    """
    first, later = list(ranked[:most]), list(ranked[most:])
    if len(first) == most and not any(offer.verdict is Verdict.GOOD for offer in first):
        mends = next((offer for offer in later if offer.verdict is Verdict.GOOD), None)
        if mends is not None:
            later.remove(mends)
            first, later = [*first[:-1], mends], [first[-1], *later]
    return first + later


def is_dangerous(build: Build, offer: Offer) -> bool:
    """Whether a change brings a danger that the build does not have."""
    known = {warned.validity for warned in build.solution.hazards}
    return any(warned.validity not in known for warned in offer.tried.build.solution.hazards)


def looked_at(build: Build, offer: Offer) -> Offer:
    """Return an offer with what its spread says, and the conditions that it breaks anywhere in the head."""
    other, quantity = offer.tried.build, offer.margin.quantity
    around = spreads(other.network, [quantity], other.values, other.ends, other.choices)[quantity]
    doubt = in_doubt(offer.margin, offer.after, around)
    known = set(_broken(build, quantity))
    broken = [words for words in _broken(other, quantity) if words not in known]
    return replace(offer, in_doubt=doubt, broken=tuple(dict.fromkeys(broken)))


def _broken(build: Build, quantity: Quantity) -> list[str]:
    """Return what it means that conditions of the whole head do not hold, those on the way to a result first."""
    way = {node.id for node in build.network.chain([quantity], build.values, build.choices)}
    told = sorted(build.solution.cautions, key=lambda warned: warned.node.id not in way)
    return [warned.validity.otherwise for warned in told]


@dataclass(frozen=True)
class Found:
    """What was found to mend a margin.

    Attributes:
        margin: what was to be bettered.
        base: the build as it is, brought to rest.
        offers: what betters it, the best first.
        tried: how many changes were looked at.
        levers: what was changed for that; empty where the margin rests on what was measured alone.
        complete: whether the search has come to its end.
    """

    margin: Margin
    base: Tried
    offers: tuple[Offer, ...] = ()
    tried: int = 0
    levers: tuple[Item, ...] = ()
    complete: bool = False


def search(build: Build, margin: Margin, watched: Sequence[Margin], most: int = 3) -> Iterator[Found | None]:
    """Look for changes that better a margin, in short steps; what is yielded last holds the best of them.

    Args:
        build: the build at hand.
        margin: what is to be bettered.
        watched: the margins whose verdict is told beside it.
        most: how many changes are offered.
    """
    items = levers_of(build, margin)
    all_changes = changes(build, items)
    yield None
    some: list[Change] = []
    for so_far in promising(build, all_changes, margin, watched) if all_changes else ():
        some = so_far
        yield None
    found: list[Tried] = []
    for piece in tried_in_steps(build, some, watched):
        found += piece
        yield None
    base, *others = found
    offers: list[Offer] = []
    for offer in with_one_that_mends(ranked_offers(margin, base, others, watched), most):
        if not is_dangerous(build, offer):
            yield None
            offers.append(looked_at(build, offer))
            yield Found(margin, base, tuple(offers), len(all_changes), tuple(items))
        if len(offers) == most:
            break
    yield Found(margin, base, tuple(offers), len(all_changes), tuple(items), complete=True)


def measured_behind(build: Build, margin: Margin) -> list[Quantity | Series]:
    """Return the given values that a margin rests on."""
    upstream = build.network.upstream([margin.quantity], build.values, build.choices)
    return [item for item in build.values if item in upstream]
