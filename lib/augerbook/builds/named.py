"""A build's name, kept honest: who changes a build that comes with the handbook does not pass it on under its name."""

from __future__ import annotations

import math
from functools import cache

from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.core.quantity import Quantity

#: What stands behind the name of a shipped build while anything in it differs.
CHANGED = ", changed"


def named_honestly(build: Build) -> Build:
    """Return the build, called ``"otter, changed"`` while it differs from the *otter* that comes with the handbook.

    With all its values back it is *otter* again. Any other name stays as it is. What counts are values, spreads, kinds
    and tables, however they came into the build; a note may be one's own.
    """
    plain = build.name.removesuffix(CHANGED)
    if plain not in _names():
        return build
    name = plain if _same(build, _as_shipped(plain)) else plain + CHANGED
    return build if name == build.name else build.with_words(name=name)


def is_shipped(build: Build) -> bool:
    """Say whether a build is, but for its note, one that comes with the handbook."""
    return build.name in _names() and _same(build, _as_shipped(build.name))


@cache
def _names() -> frozenset[str]:
    return frozenset(shipped_builds())


@cache
def _as_shipped(name: str) -> Build:
    return shipped_build(name)


def _same(one: Build, other: Build) -> bool:
    if one.choices != other.choices or one.values.keys() != other.values.keys() or one.ends.keys() != other.ends.keys():
        return False
    pairs = [(one.values[q], other.values[q]) for q in one.values if isinstance(q, Quantity)]
    pairs += [pair for q, ends in one.ends.items() for pair in zip(ends, other.ends[q], strict=True)]
    for series, columns in one.rows.items():
        if len(columns[0]) != len(other.rows[series][0]):
            return False
        pairs += [p for both in zip(columns, other.rows[series], strict=True) for p in zip(*both, strict=True)]
    return all(math.isclose(mine, theirs, rel_tol=1e-9) for mine, theirs in pairs)
