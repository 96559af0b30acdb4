"""A part of a build, as somebody posts it: told from a whole one, and put into another build."""

from __future__ import annotations

from dataclasses import replace

from augerbook.builds.build import UNNAMED, Build
from augerbook.builds.named import CHANGED

#: A build with less than this share of the values of another is far smaller.
_FAR_FEWER = 0.5


def given_count(build: Build) -> int:
    """Return how many things a build says: values, kinds, rows of tables and short tables."""
    return sum(len(given) for given in (build.entries, build.chosen, build.names, build.rows))


def may_be_part(text: Build, build: Build) -> bool:
    """Say whether what was read may be meant as a part of a build: far fewer values, and no name or the same one."""
    same = text.name == UNNAMED or text.name.removesuffix(CHANGED) == build.name.removesuffix(CHANGED)
    return same and given_count(text) < _FAR_FEWER * given_count(build)


def with_part(build: Build, part: Build) -> Build:
    """Return a build with all that a part of one says in it; name, note and the rest stay.

    A row of a table takes the place of the values that it fills, as anywhere else; an estimate stays one.
    """
    for lookup, name in part.names.items():
        build = build.with_name(lookup, name)
    return replace(
        build,
        entries={**build.entries, **part.entries},
        chosen={**build.chosen, **part.chosen},
        rows={**build.rows, **part.rows},
        guessed=(build.guessed - {*part.chosen, *part.names}) | part.guessed,
    )
