"""What a build does not say, estimated from what it says: wide, marked, and each with the way to measure it.

An estimate is no data sheet. What nobody can guess (the plastic, the flow that is wanted) is asked for and left out.
"""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from augerbook.builds.build import SPREAD, Build, Entry
from augerbook.chapters import whole_head
from augerbook.chapters.pictures import all_pictures
from augerbook.core.network import Network, Warned
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.spread import Spread
from augerbook.core.units import parse_number_with_unit, to_si
from augerbook.tables import data_path, read_table

#: What can be estimated, and what an estimate may hang on.
Guessable = Quantity | Choice | Lookup
Item = Guessable | Series
#: Nominal, low and high, in SI or as multiples of something else.
Figures = tuple[float, float, float]

_FILE = "estimates.toml"
#: How the way to measure begins where there is none.
NOT_AT_HOME = "it cannot be measured"
#: Digits that a guess is given in: more would look like knowledge.
_DIGITS = 3
#: How far a figure of a guessed row may be off where it had to be moved, as multiples.
_AROUND: Figures = (1.0, 0.8, 1.25)
#: How far a guess keeps away from what it must not reach, as a share of the room that it has.
_AWAY = 0.02
#: Estimates that are told for one result, and the least share of its spread that is.
_MOST, _LEAST = 3, 0.05


@dataclass(frozen=True)
class Way:
    """One way to estimate an input.

    Attributes:
        item: what is estimated.
        given: only where the build says this; None for always.
        of: what ``figures`` are multiples of: another input, a result, or the item itself as a guessed row has it.
        by: the look-up whose row decides between ``rows``.
        figures: nominal, low and high of a quantity; None where ``rows`` has them.
        name: the option of a choice or the row of a look-up.
        rows: the same for each row of ``by``.
        why, source: where the estimate is from, in words and as one of the plain sources.
        how: how to measure it, in a few words.
        chapter, heading: the notebook, and the heading in it, that tell what it does.
        differs: why a build that comes with the handbook lies outside; empty where none does.
    """

    item: Guessable
    given: Item | None
    of: Quantity | None
    by: Lookup | None
    figures: Figures | None
    name: str
    why: str
    source: str
    how: str
    chapter: str
    heading: str
    differs: str = ""
    rows: Mapping[str, Figures | str] = field(default_factory=dict)

    @property
    def address(self) -> str:
        """Where the chapter tells how to measure it, as a link from another notebook."""
        return f"{self.chapter}.ipynb#{self.heading.replace(' ', '-')}"

    @property
    def measurable(self) -> bool:
        """Whether a maker can measure it, or look it up."""
        return not self.how.startswith(NOT_AT_HOME)

    @property
    def of_itself(self) -> bool:
        """Whether it says how far a figure may lie from that of a row that was guessed."""
        return self.of == self.item


@cache
def all_ways() -> Mapping[Guessable, tuple[Way, ...]]:
    """Return the ways to estimate each input, the first that can be gone first, in the order of the data file."""
    declared = whole_head().declared
    found: dict[Guessable, tuple[Way, ...]] = {}
    for key, section in _document().items():
        if key != "never":
            item = declared[key]
            assert not isinstance(item, Series)
            found[item] = tuple(_way(item, s, declared) for s in (section if isinstance(section, list) else [section]))
    return found


@cache
def never_estimated() -> Mapping[Item, str]:
    """Return what is never estimated, each with the reason."""
    declared = whole_head().declared
    return {declared[key]: reason for key, reason in _document()["never"].items()}


@cache
def _document() -> dict[str, Any]:
    return tomllib.loads(data_path(_FILE).read_text(encoding="utf-8"))


def _way(item: Guessable, section: Mapping[str, Any], declared: Mapping[str, Item]) -> Way:
    of, by = declared.get(section.get("of", "")), declared.get(section.get("by", ""))
    assert (of is None or isinstance(of, Quantity)) and (by is None or isinstance(by, Lookup))
    chapter, _, heading = section["measure"].partition("#")
    rows = {
        row: said if isinstance(said, str) else _figures(item, said) for row, said in section.get("rows", {}).items()
    }
    return Way(
        item,
        declared[section["given"]] if "given" in section else None,
        of,
        by,
        _figures(item, section) if "nominal" in section else None,
        section.get("name", ""),
        section["why"],
        section["source"],
        section["how"],
        chapter,
        heading,
        section.get("differs", ""),
        rows,
    )


def _figures(item: Guessable, section: Mapping[str, Any]) -> Figures:
    """Return nominal, low and high: numbers are multiples, texts have a unit and become SI."""
    assert isinstance(item, Quantity)
    said = [section[word] for word in SPREAD]
    nominal, low, high = (
        to_si(*parse_number_with_unit(figure), item.unit) if isinstance(figure, str) else float(figure)
        for figure in said
    )
    return nominal, low, high


# --- what is lacking


def lacking(build: Build) -> frozenset[Item]:
    """Return what the build does not say and a margin waits for: first the choices, then values for what is chosen.

    So does what a picture waits for that estimates alone can complete. While a choice is lacking the values are those
    of the kind that would be guessed.
    """
    chosen = _kinds_guessed(build)
    missing = chosen.solution.missing
    items = {item for quantity in _wanted(build.network) for item in missing.get(quantity, ())}
    for picture in all_pictures():
        of_it = {item for quantity in picture.needs for item in missing.get(quantity, ())} - items
        if not any(_asked_for(chosen, item) for item in of_it):
            items |= of_it
    return frozenset(items) | _unmade(build)


def _wanted(network: Network) -> list[Quantity]:
    """Return the results that are to be known: what margins judge, and what is found for assumed inputs."""
    pairs = (*network.circles, *network.findings)
    return [*(margin.quantity for margin in network.margins.values()), *(pair.found for pair in pairs)]


def _unmade(build: Build) -> frozenset[Choice]:
    """Return the choices not made that any of the wanted results hang on, or a picture where they can be guessed."""

    def unmade(wanted: list[Quantity]) -> set[Choice]:
        chain = build.network.chain(wanted, build.values, build.choices)
        return {node.choice for node in chain if node.choice is not None and node.choice not in build.choices}

    drawn = unmade([quantity for picture in all_pictures() for quantity in picture.needs])
    return frozenset(unmade(_wanted(build.network)) | (drawn & all_ways().keys()))


def _kinds_guessed(build: Build) -> Build:
    """Return the build with all choices guessed that can be; what is chosen may ask for further ones."""
    while True:
        before = build
        for choice in sorted(_unmade(build), key=lambda choice: choice.key):
            lookup = _lookup_for(build, choice)
            build = _guessed(build, choice) if lookup is None else _row_guessed(build, lookup)
        if build is before:
            return build


def to_be_asked(build: Build, items: Iterable[Item] | None = None) -> list[Item]:
    """Return what only the maker can say of what is lacking (or of ``items``): the rest can be estimated from it."""
    wanted = lacking(build) if items is None else items
    return _together(_asks(build, wanted), wanted)


def _asks(build: Build, items: Iterable[Item]) -> dict[Item, list[Item]]:
    """Return for each item what must be said before it can be estimated."""
    return {item: _asked_for(build, item) for item in set(items)}


def _together(asks: Mapping[Item, Sequence[Item]], items: Iterable[Item]) -> list[Item]:
    return list(dict.fromkeys(one for item in sorted(items, key=lambda item: item.key) for one in asks[item]))


def _asked_for(build: Build, item: Item) -> list[Item]:
    """Return what must be said before ``item`` can be estimated; nothing when it can."""
    if item in never_estimated() or isinstance(item, Series):
        return [item]
    if (lookup := _lookup_for(build, item)) is not None:
        return _asked_for(build, lookup)
    ways = all_ways().get(item, ())
    if not ways:
        return [item]
    if any(_said(build, way, _before(item)) is not None or _of_result(way) for way in ways):
        return []
    asked: list[Item] = []
    for way in ways:
        if way.by is not None:
            asked.append(way.by)
        elif way.of is not None and way.of in _before(item):
            if not (first := _asked_for(build, way.of)):
                return []
            asked += first
    return asked or [item]


def _of_result(way: Way) -> bool:
    return way.of is not None and way.of.low is None


def waiting(build: Build) -> dict[Item, int]:
    """Return what only the maker can say, with the number of margins that wait for each; most waited for first."""
    missing = _kinds_guessed(build).solution.missing
    margins = [missing.get(margin.quantity, frozenset()) for margin in build.network.margins.values()]
    asks = _asks(build, (item for items in margins for item in items))
    counts = Counter(item for items in margins for item in _together(asks, items))
    return dict(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0].key)))


def lacking_in_words(build: Build, quantities: Sequence[Quantity]) -> dict[Quantity, str]:
    """Say of each result that is not known what only the maker can say, by name, and how much can be estimated."""
    missing = _kinds_guessed(build).solution.missing
    lacks = {q: missing.get(q, frozenset()) for q in quantities if q not in build.solution.values}
    asks = _asks(build, (item for items in lacks.values() for item in items))
    found = {}
    for quantity, items in lacks.items():
        asked = _together(asks, items)
        rest = len(items - set(asked))
        words = [f"only you can say {_listed(asked)}"] if asked else []
        if rest or not asked:
            estimates = "all that it lacks" if not rest else "1 value" if rest == 1 else f"{rest} values"
            words.append(f"{estimates} can be estimated")
        found[quantity] = f"cannot be computed yet: {', and '.join(words)}"
    return found


def _listed(items: Iterable[Item]) -> str:
    return ", ".join(item.name_in_words for item in items)


# --- estimating


def with_estimates(build: Build) -> Build:
    """Return the build with all that is lacking estimated, as far as it can be; what it says stays as it is.

    No estimate clashes with what is given, as long as there is room between what it must not reach.
    """
    patient = True  # a guess from what is computed comes before one from less, and may have to wait for others
    while True:
        before = build
        build = _kinds_guessed(build)
        wanted = lacking(build)
        for item in all_ways():
            if isinstance(item, Lookup):
                if any(_lookup_for(build, one) == item for one in wanted):
                    build = _row_guessed(build, item)
            elif isinstance(item, Quantity) and item in wanted and item not in build.values:
                build = _guessed(build, item, patient=patient)
        if build is before and not patient:
            return _apart(build)
        patient = build is not before


def _apart(build: Build) -> Build:
    """Return the build with the ends of its estimates kept within what all other values leave room for."""
    entries = {
        q: _entry(build, q, (entry.nominal, entry.low, entry.high))
        for q, entry in build.entries.items()
        if entry.estimated and entry.low is not None and entry.high is not None
    }
    return replace(build, entries={**build.entries, **entries})


def estimated(build: Build) -> list[Guessable]:
    """Return what is estimated in a build: values, choices and names, in the order of the data file."""
    marked = {*(q for q, entry in build.entries.items() if entry.estimated), *build.guessed}
    known = [item for item in all_ways() if item in marked]
    return known + sorted(marked - set(known), key=lambda item: item.key)


def outdated(build: Build) -> list[Guessable]:
    """Return the estimates that would come out otherwise today: what they were made from has changed since.

    Left out are values that the circles or the motor's data have found in place of the guess.
    """
    if not (marked := estimated(build)):
        return []
    anew, network, solution = with_estimates(without_estimates(build)), build.network, build.solution
    found = network.assumed | {
        pair.assumed
        for pair in network.findings
        if pair.assumed in build.values and math.isclose(solution.get(pair.found) or 0.0, build.values[pair.assumed])
    }

    def same(item: Guessable) -> bool:
        if isinstance(item, Quantity):
            now = anew.entries.get(item)
            return item in found or (now is not None and math.isclose(now.nominal, build.entries[item].nominal))
        if isinstance(item, Lookup):
            return anew.names.get(item) == build.names.get(item)
        return anew.chosen.get(item) == build.chosen.get(item)

    return [item for item in marked if not same(item)]


def estimated_values(build: Build) -> frozenset[Quantity]:
    """Return the quantities whose value nobody measured: estimated ones, and those of a row that was guessed."""
    own = {q for q, entry in build.entries.items() if entry.estimated}
    rows = (q for lookup in build.guessed if isinstance(lookup, Lookup) for q in lookup.fills)
    return frozenset(own | {q for q in rows if q in build.values and q not in build.entries})


def without_estimates(build: Build) -> Build:
    """Return the build without anything that was estimated."""
    return replace(
        build,
        entries={q: entry for q, entry in build.entries.items() if not entry.estimated},
        chosen={choice: option for choice, option in build.chosen.items() if choice not in build.guessed},
        names={lookup: name for lookup, name in build.names.items() if lookup not in build.guessed},
        guessed=frozenset(),
    )


def with_confirmed(build: Build, item: Guessable) -> Build:
    """Return the build with an estimate taken for known as it stands: the mark goes, and the spread of the guess."""
    if isinstance(item, Quantity):
        return build.with_known(item)
    if isinstance(item, Choice):
        return build.with_choice(item, build.chosen[item])
    return build.with_name(item, build.names[item])


def way_of(build: Build, item: Guessable) -> Way | None:
    """Return the way in which ``item`` is estimated at a build; None for what the data file does not know."""
    ways = all_ways().get(item, ())
    if len(ways) > 1:
        known = without_estimates(build)  # where it came from was not estimated itself
        # A result may have come from other estimates.
        bases = ((way, build if _of_result(way) else known) for way in ways)
        return next((way for way, base in bases if _said(base, way, _before(item)) is not None), ways[0])
    return next(iter(ways), None)


def _lookup_for(build: Build, item: Item) -> Lookup | None:
    """Return the look-up of which a row would be guessed in order to fill ``item``."""
    for lookup in all_ways():
        if isinstance(lookup, Lookup) and lookup not in build.names and item in (*lookup.fills, *lookup.sets):
            return lookup
    return None


@cache
def _before(item: Guessable) -> frozenset[Guessable]:
    """Return what stands before ``item`` in the data file: its own estimate may hang on theirs, and none go round."""
    order = list(all_ways())
    return frozenset(order[: order.index(item)] if item in order else ())


def _said(build: Build, way: Way, before: frozenset[Guessable]) -> Figures | str | None:
    """Return what a way says at a build: SI figures or a name; None where it cannot be gone."""
    if way.given is not None and not _has(build, way.given):
        return None
    if way.by is not None:
        return way.rows.get(build.names.get(way.by, ""))
    if way.of is not None and way.figures is not None:
        base = _base(build, way.of, before | ({way.item} if way.of_itself else frozenset()))
        return None if base is None else _times(base, way.figures)
    return way.figures or way.name or None


def _times(base: float, multiples: Figures) -> Figures:
    nominal, low, high = (base * multiple for multiple in multiples)
    return (nominal, low, high) if low <= high else (nominal, high, low)


def _has(build: Build, item: Item) -> bool:
    return item in build.values or item in build.names or item in build.choices


def _base(build: Build, quantity: Quantity, before: frozenset[Guessable]) -> float | None:
    """Return in SI what an estimate is a multiple of: given, computed, or else the quantity's own estimate."""
    if quantity in build.values:
        return float(build.values[quantity])
    if quantity.low is None:
        found = build.solution.get(quantity)
        return found if found is not None and math.isfinite(found) and found > 0 else None
    if quantity in before and _lookup_for(build, quantity) is None:
        for way in all_ways()[quantity]:
            # What is estimated about a row's own figure has nothing to go by where the row has none.
            if not way.of_itself and isinstance(said := _said(build, way, _before(quantity)), tuple):
                return said[0]
    return None


def _guessed(build: Build, item: Quantity | Choice, *, patient: bool = False) -> Build:
    """Return the build with one value or choice estimated; unchanged where no way can be gone.

    One that is ``patient`` waits for a result that is not known yet.
    """
    for way in all_ways()[item]:
        if patient and _of_result(way) and _said(build, way, _before(item)) is None:
            return build
        said = None if way.of_itself else _said(build, way, _before(item))
        if isinstance(item, Choice) and isinstance(said, str):
            return replace(build, chosen={**build.chosen, item: said}, guessed=build.guessed | {item})
        if isinstance(item, Quantity) and isinstance(said, tuple):
            return replace(build, entries={**build.entries, item: _entry(build, item, said)})
    return build


def _row_guessed(build: Build, lookup: Lookup) -> Build:
    """Return the build with a row of a table guessed, and estimates for those of its figures that may well differ."""
    for way in all_ways()[lookup]:
        if isinstance(name := _said(build, way, _before(lookup)), str):
            break
    else:
        return build
    row = read_table(lookup.table).row(name)
    named = replace(build, names={**build.names, lookup: name}, guessed=build.guessed | {lookup})
    entries = dict(build.entries)
    for quantity, column in lookup.fills.items():
        figure = row.si(column)
        for way in all_ways().get(quantity, ()):
            if way.of_itself and way.figures is not None and figure is not None and quantity not in entries:
                # The row's own figure stays as it is printed.
                entries[quantity] = replace(_entry(named, quantity, _times(figure, way.figures)), nominal=figure)
    # Where a figure of the row cannot go together with what is given, it is moved to where it can.
    for quantity in lookup.fills:
        figure = row.si(lookup.fills[quantity])
        least, most = (_bound(named, quantity, larger=larger) for larger in (False, True))
        if figure is not None and quantity not in build.entries and not least < figure < most:
            entries[quantity] = _entry(named, quantity, _times(figure, _AROUND))
            named = replace(named, entries=entries)
    return replace(named, entries=entries)


def _entry(build: Build, quantity: Quantity, said: Figures) -> Entry:
    """Return an estimate within the range of its quantity, and within what other values leave room for."""
    floor, ceiling = map(quantity.si, quantity.limits)
    least, most = _bound(build, quantity, larger=False), _bound(build, quantity, larger=True)
    room_from, room_to = max(floor, least), min(ceiling, most)
    away = _AWAY * (room_to - room_from)
    lowest = room_from + away if least > floor else floor
    highest = room_to - away if most < ceiling else ceiling
    nominal, low, high = said
    if not lowest <= nominal <= highest:
        nominal = (lowest + highest) / 2 if least > floor and most < ceiling else min(max(nominal, lowest), highest)
    low, high = min(max(low, lowest), nominal), max(min(high, highest), nominal)
    if not low < high:
        low, high = lowest, highest
    rounded = [as_guessed(quantity, si) for si in (nominal, low, high)]
    nominal, low, high = (
        fewer if lowest <= fewer <= highest else si for fewer, si in zip(rounded, (nominal, low, high), strict=True)
    )
    return Entry(nominal, min(low, nominal), max(high, nominal), estimated=True)


def as_guessed(quantity: Quantity, si: float) -> float:
    """Return an SI value with no more digits than a guess deserves."""
    return float(quantity.si(float(f"{float(quantity.shown(si)):.{_DIGITS}g}")))


def _bound(build: Build, quantity: Quantity, *, larger: bool) -> float:
    """Return in SI what ``quantity`` must stay below (or above), also where what lies between is not given."""
    bound = math.inf if larger else -math.inf
    for requirement in build.network.requirements:
        here, there = (requirement.smaller, requirement.larger) if larger else (requirement.larger, requirement.smaller)
        if here == quantity:
            known = build.values.get(there)
            found = float(known) if known is not None else _bound(build, there, larger=larger)
            bound = min(bound, found) if larger else max(bound, found)
    return bound


# --- what estimates decide


@dataclass(frozen=True)
class Decided:
    """What of a result rests on estimates.

    Attributes:
        lost: the estimated inputs at an end of which the result has no value.
        shares: the estimated inputs from which most of its spread comes, with their shares, the largest first.
        kinds: the guessed choices and names that it hangs on; they have no spread.
    """

    lost: tuple[Quantity, ...] = ()
    shares: tuple[tuple[Quantity, float], ...] = ()
    kinds: tuple[Choice | Lookup, ...] = ()

    @property
    def in_order(self) -> tuple[Guessable, ...]:
        """All of them, what decides most first."""
        return (*self.lost, *(quantity for quantity, _ in self.shares), *self.kinds)


def decided_by(build: Build, quantity: Quantity, around: Spread | None) -> Decided:
    """Return which estimates decide a result: of its spread those with a twentieth and more."""
    if quantity not in build.solution.values:
        return Decided()
    marked = {q for q, entry in build.entries.items() if entry.estimated}
    lost = [q for q in (around.lost if around else ()) if q in marked]
    shares = [(s.quantity, s.share) for s in (around.shares if around else ()) if s.quantity in marked - set(lost)]
    kinds = [item for item in rest_on(build, quantity) if not isinstance(item, Quantity)]
    told = [(q, share) for q, share in shares if share >= _LEAST]
    # Where all are lost the result itself is not defined: which input is to blame nobody can tell.
    whole = around is not None and math.isfinite(around.nominal)
    return Decided(tuple(lost[:_MOST]) if whole else (), tuple(told[:_MOST]), tuple(kinds))


def decide_most(build: Build, spreads: Mapping[Quantity, Spread]) -> list[tuple[Quantity, int]]:
    """Return which estimates decide most of some results: for each the number that it decides more than any other.

    Args:
        spreads: of the results.
    """
    deciders = (decided_by(build, quantity, around).in_order for quantity, around in spreads.items())
    counts = Counter(order[0] for order in deciders if order and isinstance(order[0], Quantity))
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0].key))


def _from_row(build: Build, lookup: Lookup) -> set[Item]:
    filled: set[Item] = {q for q in lookup.fills if q not in build.entries}
    return filled | {c for c in lookup.sets if c not in build.chosen}


def rest_on(build: Build, quantity: Quantity) -> list[Guessable]:
    """Return all estimates that a result is computed from."""
    chain = build.network.chain([quantity], build.solution.given, build.choices)
    used: set[Any] = {item for node in chain for item in (*node.needs(build.choices), node.choice)}
    return [
        item
        for item in estimated(build)
        if item in used or (isinstance(item, Lookup) and not used.isdisjoint(_from_row(build, item)))
    ]


def guarded_by_estimates(build: Build) -> list[tuple[Warned, list[Quantity]]]:
    """Return the dangers of which only estimates say that there is none, each with those estimates."""
    doubtful, known = estimated_values(build), build.solution.values
    found = []
    for warned in build.solution.watched:
        compared = warned.validity.quantities
        rests = sorted(doubtful & set(compared), key=lambda q: q.key)
        if not rests or any(q not in known for q in compared) or warned.fails(known):
            continue
        if warned.validity.condition.subs({q: known[q] for q in compared if q not in rests}) != True:  # noqa: E712
            found.append((warned, rests))
    return found
