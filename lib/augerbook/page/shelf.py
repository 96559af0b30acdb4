"""What lies beside the page: saved builds, the copy that the page keeps of what one works at, tables of one's own."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from augerbook.builds.build import Build
from augerbook.builds.own_rows import OwnTables, read_own_tables
from augerbook.builds.reader import SIZE_LIMIT, BuildError, name_in, text_of_build
from augerbook.builds.shipped import load_build

#: What the page keeps by itself: the build as it was last, and those that one worked at before, the newest first.
LAST, EARLIER = ".last_build.toml", ".earlier_build.toml"
KEPT = (LAST, EARLIER, ".earlier_build_2.toml", ".earlier_build_3.toml", ".earlier_build_4.toml")
#: So many saved builds are listed at most, the newest ones.
_MOST_LISTED = 40
_MINUTE, _HOUR, _DAY = 60, 3600, 86_400


def ago(seconds: float) -> str:
    """Say how long ago something was, as one would: ``"3 minutes ago"``; a clock that runs ahead says a moment."""
    for size, word in ((_DAY, "day"), (_HOUR, "hour"), (_MINUTE, "minute")):
        if seconds >= size:
            count = int(seconds // size)
            return f"{count} {word}{'' if count == 1 else 's'} ago"
    return "a moment ago"


@dataclass(frozen=True)
class Saved:
    """A build file beside the page, and when it was written (seconds since the epoch)."""

    path: Path
    at: float

    @property
    def by_itself(self) -> bool:
        """Whether the page has kept it by itself."""
        return self.path.name in KEPT

    def in_words(self) -> str:
        """Return what it is called in a list: a file by its name, what the page has kept by that of its build."""
        when = ago(time.time() - self.at)
        if not self.by_itself:
            return f"{self.path.name}, saved {when}"
        return f"{self._name():.40}, kept by the page {when}"

    def _name(self) -> str:
        """Return the name of the build; it need not be one that can be loaded."""
        try:
            name = name_in(text_of_build(self.path.name, self.path.read_bytes()))
        except (BuildError, OSError):
            name = ""
        return name or "a build without a name"


class Shelf:
    """A folder with builds and tables of somebody's own.

    Attributes:
        keeps: whether the page keeps a copy of the build there by itself.
    """

    def __init__(self, folder: Path | None = None, *, keeps: bool = False) -> None:
        self._folder = folder
        self.keeps = keeps
        self._kept = ""
        self._begun = False
        self._loaded: Build | None = None

    @property
    def folder(self) -> Path:
        """The folder; that in which the page runs where none was given."""
        return self._folder or Path.cwd()

    def saved(self) -> list[Saved]:
        """Return the build files that there are, the newest first; none where the folder cannot be read."""
        found = []
        try:
            for path in self.folder.glob("*.toml"):
                known = path.name in KEPT or not path.name.startswith(".")
                if known and path.is_file() and (about := path.stat()).st_size <= SIZE_LIMIT:
                    found.append(Saved(path, about.st_mtime))
        except OSError:
            return []
        return sorted(found, key=lambda one: -one.at)[:_MOST_LISTED]

    def read(self, name: str) -> str:
        """Return the text of a build file.

        Raises:
            BuildError: it is no text, or larger than a build can be.
            OSError: it cannot be read.
        """
        path = self.folder / name
        if path.stat().st_size > SIZE_LIMIT:
            raise BuildError([f"{name} has more than {SIZE_LIMIT} bytes: it is no build file"])
        return text_of_build(name, path.read_bytes())

    def build(self, one: Saved) -> Build | None:
        """Return the build of a file, None where it cannot be read."""
        try:
            return load_build(one.path)
        except (BuildError, OSError):
            return None

    def keep(self, build: Build, loaded: Build | None = None) -> None:
        """Write the copy that the page keeps; what one worked at before is set aside, the last five in all.

        Args:
            build: what is on the page.
            loaded: the build that it was made from. With another one than the time before something else is begun.

        Raises:
            OSError: the folder cannot be written.
        """
        text = build.toml()
        if text == self._kept:
            return
        last = self.folder / LAST
        goes_on = self._begun and loaded is self._loaded
        there = last.read_bytes() if last.is_file() else None
        if there == text.encode() and not goes_on:  # gone on with: what is older stays where it is for now
            self._kept = text
            return
        # What another page over this folder has kept there meanwhile is not of this one's to write over.
        if there is not None and not (goes_on and there == self._kept.encode()):
            self._set_aside(text, self._kept if goes_on else "")
        self._begun, self._loaded = True, loaded
        build.save(last)
        self._kept = text

    def _set_aside(self, text: str, outdated: str) -> None:
        """Make room for another text: each that is kept goes one place down, and what is the oldest goes.

        Nothing is kept twice: the place of a copy of this text is free, so is that of the text that this page has
        itself kept before it, and what was saved under a name needs none.
        """
        places = [self.folder / name for name in KEPT]
        held = [place.read_bytes() if place.is_file() else None for place in places]
        saved = [one.path.read_bytes() for one in self.saved() if not one.by_itself]
        if held[0] in (*saved, *held[1:]):
            return
        needless = (None, text.encode(), outdated.encode(), *saved)
        free = (i for i, content in enumerate(held) if content in needless)
        for place in range(next(free, len(places) - 1), 0, -1):
            places[place - 1].replace(places[place])

    def own_tables(self, build: Build) -> OwnTables:
        """Read the tables of one's own that lie there."""
        return read_own_tables(self.folder, build.network)
