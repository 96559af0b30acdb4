"""Builds read with the network of this handbook: pasted ones, files, and those that come with it."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from augerbook.builds.build import Build
from augerbook.builds.reader import BuildError, read, text_of_build
from augerbook.chapters import whole_head
from augerbook.core.network import Network
from augerbook.tables import data_path


def read_build(text: str, network: Network | None = None) -> Build:
    """Read a build from TOML, or from a forum post that contains one.

    Raises:
        BuildError: with the whole list of faults, each naming the key, the value and what was expected.
    """
    return read(text, network or whole_head())


def load_build(path: Path) -> Build:
    """Read a build from a file.

    Raises:
        BuildError: as `read_build`, also when the file is no text.
        OSError: the file cannot be read.
    """
    return read_build(text_of_build(path.name, path.read_bytes()))


def shipped_builds() -> list[str]:
    """Return the names of the builds that come with the handbook."""
    return sorted(path.stem for path in data_path("builds").glob("*.toml"))


def shipped_build(name: str) -> Build:
    """Return a build that comes with the handbook: while its file stays the same, the same build, solved once.

    Raises:
        BuildError: there is none of this name; the message names those that there are.
    """
    try:
        return _read_shipped(data_path("builds", f"{name}.toml").read_bytes().decode("utf-8"))
    except FileNotFoundError:
        known = ", ".join(f"'{one}'" for one in shipped_builds())
        raise BuildError([f"no build '{name}' comes with the handbook: take one of {known}"]) from None


@lru_cache(maxsize=8)
def _read_shipped(text: str) -> Build:
    return read_build(text)
