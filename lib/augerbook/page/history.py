"""The builds that a page has shown, one step after another: back, and forth again."""

from __future__ import annotations

from dataclasses import dataclass, replace

from augerbook.builds.build import Build


@dataclass(frozen=True)
class Moment:
    """What a session held at one time.

    Attributes:
        wanted: what the sliders said.
        build: the last possible build then.
        loaded: the build that was loaded last, against which changes are told.
    """

    wanted: Build
    build: Build
    loaded: Build

    def bare(self) -> Moment:
        """Return the same without what was computed from it: a hundred builds back would hold a hundred solutions."""
        wanted = replace(self.wanted)
        return Moment(wanted, wanted if self.build is self.wanted else replace(self.build), self.loaded)


class History:
    """Moments in their order. Moves of one slider are one step until it rests."""

    def __init__(self, first: Moment) -> None:
        self._moments = [first]
        self._at = 0
        self._moved: object = None

    @property
    def moment(self) -> Moment:
        """The present one."""
        return self._moments[self._at]

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """Whether a step was taken back that can be done again."""
        return self._at + 1 < len(self._moments)

    def add(self, moment: Moment, moved: object = None) -> None:
        """Go on to another moment; what was taken back is forgotten.

        ``moved`` is what was moved by small steps, if anything was: as long as it is the same they are one step.
        """
        del self._moments[self._at + 1 :]
        if moved is not None and moved is self._moved and self._at > 0:
            self._moments[self._at] = moment
        else:
            self._moments[self._at] = self._moments[self._at].bare()
            self._moments.append(moment)
            self._at += 1
        self._moved = moved

    def seal(self) -> None:
        """Let the next move be a step of its own."""
        self._moved = None

    def undo(self) -> Moment:
        """Go back by one step and return the moment there; the first stays."""
        return self._go(-1)

    def redo(self) -> Moment:
        """Go forth by one step and return the moment there; the last stays."""
        return self._go(1)

    def _go(self, by: int) -> Moment:
        self._moved = None
        self._moments[self._at] = self.moment.bare()
        self._at = min(max(self._at + by, 0), len(self._moments) - 1)
        return self.moment
