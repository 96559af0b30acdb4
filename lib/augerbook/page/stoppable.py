"""Work of a panel that takes seconds: done step by step, with a bar, and stopped by a press."""

from __future__ import annotations

from collections.abc import Iterator

import ipywidgets as widgets

from augerbook.page.deferred import Deferred
from augerbook.page.plain import Button, Html


class Stoppable:
    """What a panel with such work has. ``stop``, ``bar`` and ``progress`` are for the panel to arrange and to fill."""

    def __init__(self) -> None:
        self.stop = Button(description="Stop", disabled=True, layout=widgets.Layout(width="90px"))
        self.bar = widgets.IntProgress(min=0, max=1, layout=widgets.Layout(width="240px"))
        self.progress = Html()
        self.halted = False
        self._working = Deferred(self._steps, 0.0)
        self.stop.on_click(lambda _: self.halt())

    def _steps(self) -> Iterator[None]:
        """Do the work, and leave off after a step where it was halted."""
        raise NotImplementedError

    def start(self) -> None:
        """Begin anew with what is picked and typed now."""
        self.halted = False
        self._working.request()

    def halt(self) -> None:
        """Stop after the piece at hand."""
        self.halted = True

    def retire(self) -> None:
        """Leave the work, under way or waiting, for good."""
        self.halt()
        self._working.drop()

    def finish(self) -> None:
        """Go on to the end at once."""
        self._working.finish()
