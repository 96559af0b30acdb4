"""Torque and speed of the operating point beside those that the build assumes, and a button that takes them over."""

from __future__ import annotations

import math

import ipywidgets as widgets

from augerbook.settle import settled
from augerbook.show.session import Session
from augerbook.subjects.bearing import screw_speed
from augerbook.subjects.operating import needed_torque, operating_speed
from augerbook.subjects.thrust import running_torque

#: Assumed and found within this share of each other count as the same.
_SAME = 0.02
_PAIRS = ((running_torque, needed_torque), (screw_speed, operating_speed))


class SettlePanel:
    """A line of text and a button; ``part`` says beside which sliders it belongs."""

    part = running_torque.part

    def __init__(self, session: Session) -> None:
        self._session = session
        self.found = widgets.HTML(layout=widgets.Layout(width="100%"))
        self.take = widgets.Button(
            description="Take torque and speed over",
            tooltip="Set torque and speed to those of the operating point, again and again until they stay",
            layout=widgets.Layout(width="auto"),
        )
        self.take.on_click(lambda _: session.load(settled(session.build)))
        self.widget = widgets.VBox([self.found, self.take], layout=widgets.Layout(width="100%"))
        self.refresh()

    def refresh(self) -> None:
        """Say what the operating point asks for; there is nothing to take over where it is as assumed or is none."""
        solution = self._session.solution
        if not all(math.isfinite(solution.get(q) or math.nan) for _, q in _PAIRS):
            self._say("no operating point: nothing to take over", 0)
            return
        found = " at ".join(q.text(solution[q]) for _, q in _PAIRS)
        apart = max(abs(solution[q] / solution[assumed] - 1) for assumed, q in _PAIRS)
        same = ", as assumed" if apart < _SAME else ""
        self._say(f"the screw takes {found}{same}", apart)

    def _say(self, words: str, apart: float) -> None:
        self.found.value = f"<div style='line-height:1.4;padding-left:8px'>Operating point: {words}.</div>"
        self.take.disabled = apart < _SAME
