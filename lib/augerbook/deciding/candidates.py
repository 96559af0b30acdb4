"""Candidates for the next head: a build with another row of a table, another size or kind in one place or more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from itertools import islice, product
from math import prod
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build, misfits
from augerbook.builds.own_rows import OwnRows
from augerbook.builds.typed import typed_si
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import UnitError, with_unit
from augerbook.deciding.motors import DRIVES, carried
from augerbook.head.feedstock import SIEVED, sieve_mesh, sizes_from
from augerbook.tables import TableError, read_table

#: More than this is not tried at once: half an hour through the whole head without any draws.
MOST_CANDIDATES = 100_000
#: Combinations made between two looks at what was clicked: a tenth of a second of work.
_BATCH = 64

Item = Quantity | Choice | Lookup
K = TypeVar("K")
V = TypeVar("V")


@dataclass(frozen=True)
class Candidate:
    """A build to try.

    Attributes:
        name: what differs from the build it came from, ``"DIN 7998 6; bore diameter 8.5 mm"``.
        build: the whole of it.
    """

    name: str
    build: Build


@dataclass(frozen=True)
class Refused:
    """A candidate that cannot be built, and why, in a sentence."""

    name: str
    reason: str


@dataclass(frozen=True)
class Crossed:
    """A batch of combinations put into a build.

    Attributes:
        made: those that can be built.
        refused: those that cannot.
        done, of: combinations so far, and in all.
    """

    made: tuple[Candidate, ...]
    refused: tuple[Refused, ...]
    done: int
    of: int


def combinations(options: Mapping[Item, Sequence[str]]) -> int:
    """Return how many candidates options make.

    Raises:
        ValueError: nothing to choose from, or too many; the message says how many.
    """
    if not options or not all(options.values()):
        raise ValueError("there is nothing to choose from: give at least one option for each thing that may change")
    count = prod(len(texts) for texts in options.values())
    if count > MOST_CANDIDATES:
        sizes = ", ".join(f"{len(texts)} of {item.name_in_words}" for item, texts in options.items())
        raise ValueError(f"{sizes}: that makes {count:,} candidates, and at most {MOST_CANDIDATES:,} are tried at once")
    return count


def crossed(
    base: Build, options: Mapping[Item, Sequence[str]], own: OwnRows | None = None
) -> tuple[tuple[Candidate, ...], tuple[Refused, ...]]:
    """Return each combination of ``options`` put into the build: those that can be built, and those that cannot.

    Arguments and errors as for `crossed_in_steps`.
    """
    batches = list(crossed_in_steps(base, options, own))
    return tuple(one for batch in batches for one in batch.made), tuple(r for batch in batches for r in batch.refused)


def crossed_in_steps(
    base: Build, options: Mapping[Item, Sequence[str]], own: OwnRows | None = None
) -> Iterator[Crossed]:
    """Put each combination of ``options`` into the build, and yield them batch by batch.

    Args:
        base: the build at hand; what no option changes stays as it is.
        options: for a lookup names of rows of its table, for a choice its kinds, for a quantity values with their
            units (``"8.5 mm"``).
        own: rows that go before those of the tables.

    Raises:
        ValueError: nothing to choose from, or too many combinations; the message says how many.
    """
    done, of = 0, combinations(options)
    left = product(*options.values())
    while batch := list(islice(left, _BATCH)):
        made, refused = _crossed(base, options, batch, own or {})
        done += len(batch)
        yield Crossed(tuple(made), tuple(refused), done, of)


def _crossed(
    base: Build, options: Mapping[Item, Sequence[str]], batch: Sequence[Sequence[str]], own: OwnRows
) -> tuple[list[Candidate], list[Refused]]:
    made: list[Candidate] = []
    refused: list[Refused] = []
    for texts in batch:
        name = "; ".join(_called(item, text) for item, text in zip(options, texts, strict=True))
        try:
            build = base
            for item, text in zip(options, texts, strict=True):
                build = _put_in(build, item, text, own)
        except (TableError, ValueError) as error:
            refused.append(Refused(name, str(error)))
            continue
        if clashes := build.clashes():
            refused.append(Refused(name, "; ".join(clashes)))
        else:
            made.append(Candidate(name, build))
    if DRIVES.isdisjoint(options):
        return made, refused
    # What the build gives of its motor by hand follows, unless it is among the options itself.
    kept: list[Candidate] = []
    for one, followed in zip(made, carried(base, [one.build for one in made], options), strict=True):
        if followed is None:
            refused.append(Refused(one.name, "what such a motor gives lies outside the range of what is possible"))
        else:
            kept.append(replace(one, build=followed))
    return kept, refused


def _called(item: Item, text: str) -> str:
    return f"{item.name_in_words} {text}" if isinstance(item, Quantity) else text


def unanswered(base: Build, options: Mapping[Item, Sequence[str]]) -> list[str]:
    """Return a sentence for each option that a build does not answer, whatever is chosen for it."""
    if sieve_mesh in options and base.choices.get(sizes_from) == SIEVED:
        return [
            f"{sieve_mesh.name_in_words}: the sizes of the grains come from a sieve table in this build, and another "
            f"sieve does not change them: choose '{sizes_from.name_in_words}' by median and spread to compare sieves"
        ]
    return []


def _put_in(build: Build, item: Item, text: str, own: OwnRows) -> Build:
    """Return the build with one option in it.

    Raises:
        TableError: there is no such row.
        ValueError: the text is no value of that kind, the value or a figure of the row is implausible, or the kind is
            unknown.
    """
    if isinstance(item, Lookup):
        row = own.get(item, {}).get(text)
        if faults := misfits(item, row or read_table(item.table).row(text)):
            raise ValueError("; ".join(faults))
        return build.with_row(item, row) if row else build.with_name(item, text)
    if isinstance(item, Choice):
        if text not in item.options:
            raise ValueError(f"'{text}' is none of {', '.join(repr(option) for option in item.options)}")
        return build.with_choice(item, text)
    try:
        return build.with_value(item, typed_si(item, text))
    except UnitError as error:
        raise ValueError(f"{item.name_in_words}: '{text}' {error}") from error


@dataclass(frozen=True)
class Difference:
    """One thing that a build has otherwise than another.

    Attributes:
        item: what differs.
        part: the part of the head that it belongs to; empty for a measured result.
        before, after: as they are shown, ``"8.00 mm"``, ``"DIN 7998 6"``.
        words: both in short, ``"bore diameter 8 to 9 mm"``.
    """

    item: Item | Series
    part: str
    before: str
    after: str
    words: str


def differences(base: Build, other: Build) -> Iterator[str]:
    """Say what another build has otherwise than the one at hand, one change at a time, from one value to the other."""
    return (f"{one.item.name_in_words}: {one.before} to {one.after}" for one in changed(base, other) if _differs(one))


def parts_changed(base: Build, other: Build) -> tuple[str, ...]:
    """Return the parts of the head that another build has otherwise, each once: what must be bought or made anew."""
    return tuple(dict.fromkeys(one.part for one in changed(base, other) if _differs(one)))


def differs(base: Build, other: Build) -> bool:
    """Say whether anything must be bought, made or set anew to come from one build to another."""
    return any(_differs(one) for one in changed(base, other))


def _differs(one: Difference) -> bool:
    """Whether it is more than a spread or a short table of what was measured."""
    return one.before != one.after and not isinstance(one.item, Series)


def changed(base: Build, other: Build) -> Iterator[Difference]:
    """Yield what another build has otherwise than a first one, its spreads and short tables too."""
    for lookup in {**base.names, **other.names}:
        before, after = base.named_row(lookup), other.named_row(lookup)
        if before != after:
            yield Difference(
                lookup, lookup.part, before, after, f"{lookup.name_in_words}: {before} to {after}"
            )  # fmt: skip
    looked_up = {q for lookup in other.names if base.names.get(lookup) != other.names[lookup] for q in lookup.fills}
    for choice in {**base.choices, **other.choices}:
        if base.choices.get(choice) != other.choices.get(choice):
            one, another = (build.choices.get(choice, "nothing") for build in (base, other))
            yield Difference(choice, choice.part, one, another, f"{choice.name_in_words}: {one} to {another}")
    for quantity in {**base.values, **other.values}:
        if isinstance(quantity, Quantity) and quantity not in looked_up:
            yield from _moved(quantity, base, other)
    for series in {**base.rows, **other.rows}:
        one_table, other_table = base.rows.get(series), other.rows.get(series)
        if one_table is not other_table and not _equal(one_table, other_table):
            told = ["nothing" if table is None else f"{len(table[0])} rows" for table in (one_table, other_table)]
            yield Difference(series, series.part, told[0], told[1], f"{series.name_in_words}: another table")


def _equal(one: tuple[NDArray[np.float64], ...] | None, other: tuple[NDArray[np.float64], ...] | None) -> bool:
    if one is None or other is None:
        return one is other
    return all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


def _moved(quantity: Quantity, base: Build, other: Build) -> Iterator[Difference]:
    before, after = base.values.get(quantity), other.values.get(quantity)
    if before == after and base.ends.get(quantity) == other.ends.get(quantity):
        return  # as most are: to write all of them out first takes six times as long
    told = ["nothing" if si is None else quantity.text(si) for si in (before, after)]
    if before != after:
        if before is None or after is None:
            words = f"{quantity.name_in_words}: {told[0]} to {told[1]}"
        else:
            words = from_to(quantity, before, after)
        yield Difference(quantity, quantity.part, told[0], told[1], words)
    else:
        spread = _spread_in_words(quantity, other)
        yield Difference(quantity, quantity.part, told[0], told[0], f"{quantity.name_in_words}: {spread}")


def _spread_in_words(quantity: Quantity, build: Build) -> str:
    ends = build.ends.get(quantity)
    return f"spread now {from_to(quantity, *ends, named=False)}" if ends else "its spread taken away"


def from_to(quantity: Quantity, before: float, after: float, *, named: bool = True) -> str:
    """Say a move of a value (SI) in short, with digits enough to tell both apart: ``"plate thickness 2 to 6 mm"``."""
    shown = [quantity.shown_number(si) for si in (before, after)]
    digits = next((n for n in (4, 6, 9) if f"{shown[0]:.{n}g}" != f"{shown[1]:.{n}g}"), 12)
    words = f"{shown[0]:.{digits}g} to {with_unit(f'{shown[1]:.{digits}g}', quantity.unit)}"
    return f"{quantity.name_in_words} {words}" if named else words


def put_back(build: Build, base: Build, item: Item | Series) -> Build:
    """Return a build with one thing again as it is in another; what a row of a table fills goes with it.

    What was only estimated there is so again.
    """
    quantities = set(item.fills) if isinstance(item, Lookup) else {item}
    kinds = set(item.sets) if isinstance(item, Lookup) else {item}
    return replace(
        build,
        entries=_again(build.entries, base.entries, quantities),
        chosen=_again(build.chosen, base.chosen, kinds),
        names=_again(build.names, base.names, {item}),
        rows=_again(build.rows, base.rows, {item}),
        guessed=build.guessed - {item, *kinds} | base.guessed & {item, *kinds},
    )


def _again(now: Mapping[K, V], then: Mapping[K, V], keys: Set[object]) -> dict[K, V]:
    """Return what is given now, for some keys as it was then."""
    kept = {key: value for key, value in now.items() if key not in keys}
    return kept | {key: value for key, value in then.items() if key in keys}
