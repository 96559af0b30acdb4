"""Where something is from."""

from __future__ import annotations

from dataclasses import dataclass

#: What may stand instead of a reference.
PLAIN_SOURCES = ("derived here", "judgement", "common practice", "definition")


@dataclass(frozen=True)
class Source:
    """A reference key of ``data/references.toml`` with the place in it, or one of `PLAIN_SOURCES`."""

    key: str
    place: str = ""

    def __str__(self) -> str:
        return f"{self.key}, {self.place}" if self.place else self.key
