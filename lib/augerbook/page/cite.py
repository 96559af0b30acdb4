"""Worked examples of a build, with the sources spelled out and the build to paste."""

from __future__ import annotations

from augerbook import __version__
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build
from augerbook.core.example import WorkedExample, work_out
from augerbook.core.quantity import Quantity
from augerbook.core.sources import PLAIN_SOURCES, Source
from augerbook.tables import references


def cite(source: Source) -> str:
    """Return a source as one line with author and title."""
    if source.key in PLAIN_SOURCES:
        return str(source)
    line = references()[source.key].cite()
    return f"{line}, {source.place}" if source.place else line


def worked(quantity: Quantity, build: Build | str, *, whole_chain: bool = False) -> WorkedExample:
    """Work out ``quantity`` at a build, or at a shipped build given by name.

    Raises:
        ValueError: an input is missing, or the quantity itself is an input.
    """
    chosen = shipped_build(build) if isinstance(build, str) else build
    return work_out(
        chosen.network,
        quantity,
        chosen.values,
        chosen.choices,
        ends=chosen.ends,
        version=__version__,
        build_name=f"{chosen.name} ({chosen.note})" if chosen.note else chosen.name,
        build_block=chosen.toml(),
        whole_chain=whole_chain,
        cite=cite,
    )
