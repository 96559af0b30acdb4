"""What lies beside the page: saved builds, the copy that the page keeps of what one works at, tables of one's own."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from augerbook.builds.build import Build
from augerbook.builds.own_rows import OwnTables, read_own_tables
from augerbook.builds.reader import SIZE_LIMIT, BuildError, text_of_build
from augerbook.builds.shipped import load_build

#: What the page keeps by itself: the build as it was last, and the last one of the time before.
LAST, EARLIER = ".last_build.toml", ".earlier_build.toml"
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
        return self.path.name in (LAST, EARLIER)

    def in_words(self) -> str:
        """Return what it is called in a list."""
        when = ago(time.time() - self.at)
        if self.by_itself:
            which = "kept by the page" if self.path.name == LAST else "kept by the page, the time before"
            return f"{which}, {when}"
        return f"{self.path.name}, saved {when}"


class Shelf:
    """A folder with builds and tables of somebody's own.

    Attributes:
        keeps: whether the page keeps a copy of the build there by itself.
    """

    def __init__(self, folder: Path | None = None, *, keeps: bool = False) -> None:
        self._folder = folder
        self.keeps = keeps
        self._kept = ""
        self._set_aside = False

    @property
    def folder(self) -> Path:
        """The folder; that in which the page runs where none was given."""
        return self._folder or Path.cwd()

    def saved(self) -> list[Saved]:
        """Return the build files that there are, the newest first; none where the folder cannot be read."""
        found = []
        try:
            for path in self.folder.glob("*.toml"):
                known = path.name in (LAST, EARLIER) or not path.name.startswith(".")
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

    def keep(self, build: Build) -> None:
        """Write the copy that the page keeps; the first time that of the time before is set aside.

        Raises:
            OSError: the folder cannot be written.
        """
        text = build.toml()
        if text == self._kept:
            return
        last = self.folder / LAST
        if not self._set_aside and last.is_file():
            if last.read_bytes() == text.encode():  # gone on with: what is older stays where it is for now
                self._kept = text
                return
            last.replace(self.folder / EARLIER)
        self._set_aside = True
        build.save(last)
        self._kept = text

    def own_tables(self, build: Build) -> OwnTables:
        """Read the tables of one's own that lie there."""
        return read_own_tables(self.folder, build.network)
