"""What the operating point finds for the values that a build assumes, and a button that takes them over."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.head.drive import running_torque
from augerbook.page.session import Session
from augerbook.settle import found_at_work, settle

#: Assumed and found within this share of each other count as the same.
_SAME = 0.02


class SettlePanel:
    """A line of text and a button; ``part`` says beside which sliders it belongs."""

    part = running_torque.part

    def __init__(self, session: Session) -> None:
        self._session = session
        self.found = widgets.HTML(layout=widgets.Layout(width="100%"))
        self.take = widgets.Button(
            description="Take these values over",
            tooltip="Set torque, speed and shares of heat as the operating point has them, until they stay",
            layout=widgets.Layout(width="auto"),
        )
        self.take.on_click(lambda _: self._take_over())
        self.widget = widgets.VBox([self.found, self.take], layout=widgets.Layout(width="100%"))

    def _take_over(self) -> None:
        at_work = settle(self._session.build)
        self._session.load(at_work.build)
        if at_work.unrest:
            self._session.tell(f"Torque and speed are not at rest: {at_work.unrest}.", running_torque)

    def refresh(self) -> None:
        """Say what the operating point asks for; there is nothing to take over where it is as assumed or is none."""
        build = self._session.build
        found = found_at_work(build)
        same = all(abs(value / build.values[assumed] - 1) < _SAME for assumed, value in found.items())
        words = "no operating point: nothing to take over"
        if found:
            takes = ", ".join(f"{assumed.name_in_words} {assumed.text(value)}" for assumed, value in found.items())
            words = f"{takes}{', as assumed' if same else ''}"
        self.found.value = Markup("<div style='line-height:1.4;padding-left:8px'>Operating point: {}.</div>").format(
            words
        )
        self.take.disabled = same
