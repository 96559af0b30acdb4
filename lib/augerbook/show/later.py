"""Work that may wait until a slider rests."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

#: Seconds that numbers beside a picture wait for it to be painted.
SOON = 0.03


class Later:
    """Calls an action once, a moment after the last request; at once where no event loop runs."""

    def __init__(self, action: Callable[[], None], seconds: float = 0.15) -> None:
        self._action = action
        self._seconds = seconds
        self._waiting: asyncio.TimerHandle | None = None

    def request(self) -> None:
        """Ask for the action; a request that waits is put off."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._action()
            return
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = loop.call_later(self._seconds, self.finish)

    def finish(self) -> None:
        """Do at once what waits; nothing when nothing does."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None
            self._action()
