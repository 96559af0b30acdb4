"""Work that may wait until a slider rests."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator

#: Seconds that numbers beside a picture wait for it to be painted.
SOON = 0.03
#: Seconds between the steps of a long action: moves that have come in meanwhile are dealt with first.
_BETWEEN = 0.001


class Deferred:
    """Calls an action once, a moment after the last request; at once where no event loop runs.

    An action may be a generator. Then it is done step by step, so that it blocks nothing for longer than a step, and
    begun anew by a request that comes in between.

    What goes wrong in it a loop would write into its log alone: ``failed`` hears of it first.
    """

    def __init__(
        self,
        action: Callable[[], Iterator[None] | None],
        seconds: float = 0.15,
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        self._action = action if failed is None else _telling(action, failed)
        self._seconds = seconds
        self._steps: Iterator[None] | None = None
        self._waiting: asyncio.TimerHandle | None = None
        self._busy = False

    def request(self) -> None:
        """Ask for the action; a request that waits is put off, one that is under way is dropped."""
        self._steps = None
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._to_the_end()
            return
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = loop.call_later(self._seconds, self._step)

    def drop(self) -> None:
        """Forget the action, waiting or under way, until it is asked for again."""
        self._steps = None
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def finish(self) -> None:
        """Do at once what waits, to its end; nothing when nothing does."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None
            self._to_the_end()

    def _to_the_end(self) -> None:
        # What is in the middle of a step cannot be taken further from inside of it: then the action is done anew.
        steps = self._action() if self._busy else self._steps or self._action()
        for _ in steps or ():
            pass
        if not self._busy:
            self._steps = None

    def _step(self) -> None:
        self._waiting = None
        if self._busy:  # called while a step lets the loop go on: its turn comes when that step is done
            self._wait()
            return
        if self._steps is None:
            self._steps = self._action()
        steps = self._steps
        if steps is None:
            return
        self._busy = True
        try:
            next(steps)
        except StopIteration:
            if self._steps is steps:
                self._steps = None
        else:
            # What came in between waits already and begins anew, or has been finished: then nothing is left of this.
            if self._steps is steps and self._waiting is None:
                self._wait()
        finally:
            self._busy = False

    def _wait(self) -> None:
        self._waiting = asyncio.get_running_loop().call_later(_BETWEEN, self._step)


def _telling(
    action: Callable[[], Iterator[None] | None], failed: Callable[[Exception], None]
) -> Callable[[], Iterator[None]]:
    """Return an action that tells of an error before it raises it."""

    def told() -> Iterator[None]:
        try:
            yield from action() or ()
        except Exception as error:
            failed(error)
            raise

    return told
