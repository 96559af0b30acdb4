"""What a build says of one thing in two ways that cannot both be true, where no figure could tell."""

from __future__ import annotations

from augerbook.builds.build import Build
from augerbook.head.feedstock import plastic
from augerbook.head.plastic import melt_data


def contradictions(build: Build) -> list[str]:
    """Return a sentence for each contradiction, with what to do; none for most builds."""
    dried, melted = build.names.get(plastic), build.names.get(melt_data)
    # Where the table has no melt data of a plastic, those of another stand in for it; their margins say so.
    if dried is None or melted is None or melt_data in build.guessed or polymer(dried) == polymer(melted):
        return []
    return [
        f"the granules are {dried}, and the melt data are those of {melted}: take the melt data of the plastic that is "
        "fed, or the granules that belong to them"
    ]


def polymer(row: str) -> str:
    """Return the polymer that a row of a table of plastics tells of: the first word of its name."""
    return row.split()[0]
