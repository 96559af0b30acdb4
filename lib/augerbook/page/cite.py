"""Worked examples of a build, with the sources spelled out and the build to paste."""

from __future__ import annotations

from augerbook import __version__
from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated_values
from augerbook.builds.excerpt import excerpt
from augerbook.builds.named import named_honestly
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.core.example import WorkedExample, work_out
from augerbook.core.quantity import Quantity
from augerbook.core.sources import PLAIN_SOURCES, Source
from augerbook.deciding.changes import next_steps
from augerbook.page.estimated_view import rests_in_words
from augerbook.tables import references


def cite(source: Source, *, linked: bool = False) -> str:
    """Return a source as one line with author and title; in Markdown with a link, when asked for."""
    if source.key in PLAIN_SOURCES:
        return str(source)
    work = references()[source.key]
    line = work.linked() if linked else work.cite()
    return f"{line}, {source.place}" if source.place else line


#: Fingerprints of the shipped builds in ids that were posted before an id told only what its result follows from.
POSTED = {"6a201532": "otter", "b7c5ed21": "wren"}


def find_example(example_id: str) -> WorkedExample:
    """Work out again the example of a shipped build that an id names, as it was posted.

    Raises:
        LookupError: the id names no relation, or is not of a build that comes with the handbook.
    """
    node_id, _, mark = example_id.strip().partition(":")
    nodes = whole_head().nodes
    if node_id not in nodes:
        raise LookupError(f"{example_id}: there is no relation {node_id!r}")
    results = nodes[node_id].outputs
    if mark in POSTED:
        return worked(results[0], POSTED[mark])
    for name in shipped_builds():
        build = shipped_build(name)
        for quantity in (q for q in results if q in build.solution.values and q not in build.solution.given):
            if (example := worked(quantity, build)).id == f"{node_id}:{mark}":
                return example
    raise LookupError(
        f"{example_id} is of no build that comes with the handbook: load the build that was posted with it"
    )


def worked(quantity: Quantity, build: Build | str, *, whole_chain: bool = False) -> WorkedExample:
    """Work out ``quantity`` at a build, or at a shipped build given by name.

    Raises:
        ValueError: an input is missing, or the quantity itself is an input.
    """
    chosen = shipped_build(build) if isinstance(build, str) else named_honestly(build)
    return work_out(
        chosen.network,
        quantity,
        chosen.values,
        chosen.choices,
        ends=chosen.ends,
        steps=next_steps(chosen),
        version=__version__,
        build_name=f"{chosen.name} ({chosen.note})" if chosen.note else chosen.name,
        build_block=chosen.toml(),
        build_line=_line(chosen, quantity),
        whole_chain=whole_chain,
        cite=cite,
        estimated=estimated_values(chosen),
        rests=rests_in_words(chosen, quantity),
    )


def _line(build: Build, quantity: Quantity) -> str:
    """Return the values of the last step on one line; nothing where there is none, which `work_out` tells."""
    try:
        return excerpt(build, quantity).one_line()
    except ValueError:
        return ""
