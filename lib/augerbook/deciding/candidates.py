"""Candidates for the next head: a build with another row of a table, another size or kind in one place or more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from augerbook.builds.build import Build, misfits
from augerbook.builds.own_rows import OwnRows
from augerbook.builds.typed import typed_si
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.units import UnitError
from augerbook.head.feedstock import SIEVED, sieve_mesh, sizes_from
from augerbook.tables import TableError, read_table

#: More than this is not tried at once: half an hour through the whole head without any draws.
MOST_CANDIDATES = 100_000

Item = Quantity | Choice | Lookup


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


def crossed(
    base: Build, options: Mapping[Item, Sequence[str]], own: OwnRows | None = None
) -> tuple[tuple[Candidate, ...], tuple[Refused, ...]]:
    """Return each combination of ``options`` put into the build: those that can be built, and those that cannot.

    Args:
        base: the build at hand; what no option changes stays as it is.
        options: for a lookup names of rows of its table, for a choice its kinds, for a quantity values with their
            units (``"8.5 mm"``).
        own: rows that go before those of the tables.

    Raises:
        ValueError: nothing to choose from, or too many combinations; the message says how many.
    """
    if not options or not all(options.values()):
        raise ValueError("there is nothing to choose from: give at least one option for each thing that may change")
    count = prod(len(texts) for texts in options.values())
    if count > MOST_CANDIDATES:
        sizes = ", ".join(f"{len(texts)} of {item.name_in_words}" for item, texts in options.items())
        raise ValueError(f"{sizes}: that makes {count:,} candidates, and at most {MOST_CANDIDATES:,} are tried at once")
    made: list[Candidate] = []
    refused: list[Refused] = []
    for texts in product(*options.values()):
        name = "; ".join(_called(item, text) for item, text in zip(options, texts, strict=True))
        try:
            build = base
            for item, text in zip(options, texts, strict=True):
                build = _put_in(build, item, text, own or {})
        except (TableError, ValueError) as error:
            refused.append(Refused(name, str(error)))
            continue
        if clashes := build.clashes():
            refused.append(Refused(name, "; ".join(clashes)))
        else:
            made.append(Candidate(name, build))
    return tuple(made), tuple(refused)


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


def differences(base: Build, other: Build) -> Iterator[str]:
    """Say what another build has otherwise than the one at hand, one change at a time, from one value to the other."""
    return (words for _, words in _changes(base, other))


def parts_changed(base: Build, other: Build) -> tuple[str, ...]:
    """Return the parts of the head that another build has otherwise, each once: what must be bought or made anew."""
    return tuple(dict.fromkeys(part for part, _ in _changes(base, other)))


def _changes(base: Build, other: Build) -> Iterator[tuple[str, str]]:
    for lookup in {**base.names, **other.names}:
        before, after = base.names.get(lookup, "own values"), other.names.get(lookup, "own values")
        if before != after:
            yield lookup.part, f"{lookup.name_in_words}: {before} to {after}"
    looked_up = {q for lookup in other.names if base.names.get(lookup) != other.names[lookup] for q in lookup.fills}
    for choice in {**base.choices, **other.choices}:
        if base.choices.get(choice) != other.choices.get(choice):
            one, another = (build.choices.get(choice, "nothing") for build in (base, other))
            yield choice.part, f"{choice.name_in_words}: {one} to {another}"
    for quantity, si in other.values.items():
        if not isinstance(quantity, Quantity) or quantity in looked_up:
            continue
        before_si = base.values.get(quantity)
        if before_si != si:
            told = "nothing" if before_si is None else quantity.text(before_si)
            yield quantity.part, f"{quantity.name_in_words}: {told} to {quantity.text(si)}"
