"""What chapters find for the values that a build assumes or gives by hand, and buttons that take them over."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity
from augerbook.head.drive import running_torque
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.settle import found_at_work, found_elsewhere, settle, with_found

#: Assumed and found within this share of each other count as the same, temperatures within so many kelvins.
_SAME, _SAME_KELVINS = 0.02, 1.0


class SettlePanel:
    """Two lines of text, each with a button; ``part`` says beside which sliders they belong.

    The second line is for what the motor's data find; a build without them does not show it.
    """

    part = running_torque.part

    def __init__(self, session: Session) -> None:
        self._session = session
        self.found = Html(layout=widgets.Layout(width="100%"))
        self.take = Button(
            description="Take these values over",
            tooltip="Set torque, speed and shares of heat as the operating point has them, until they stay",
            layout=widgets.Layout(width="auto"),
        )
        self.take.on_click(lambda _: self._take_over())
        self.motor_found = Html(layout=widgets.Layout(width="100%"))
        self.motor_take = Button(
            description="Take what the motor's data give",
            tooltip="Set what the data of the motor give in place of what the build says",
            layout=widgets.Layout(width="auto"),
        )
        self.motor_take.on_click(lambda _: self._take_motors())
        self.widget = widgets.VBox(
            [self.found, self.take, self.motor_found, self.motor_take], layout=widgets.Layout(width="100%")
        )

    def _take_motors(self) -> None:
        if not self._session.held_up():
            self._session.take(with_found(self._session.build))

    def _take_over(self) -> None:
        if self._session.held_up(running_torque):
            return
        at_work = settle(self._session.build)
        self._session.take(at_work.build)
        if at_work.unrest:
            self._session.tell(f"Torque and speed are not at rest: {at_work.unrest}.", running_torque)

    def refresh(self) -> None:
        """Say what the operating point asks for; there is nothing to take over where it is as assumed or is none."""
        build = self._session.build
        found = found_at_work(build)
        same = _same(build, found)
        words = _in_words(found, same) if found else "no operating point: nothing to take over"
        self.found.value = _LINE.format("Operating point", words)
        self.take.disabled = same
        found = found_elsewhere(build)
        same = _same(build, found)
        self.motor_found.value = _LINE.format("Motor's data", _in_words(found, same)) if found else ""
        self.motor_take.layout.display = "" if found else "none"
        self.motor_take.disabled = same


_LINE = Markup("<div style='line-height:1.4;padding-left:8px'>{}: {}.</div>")


def _same(build: Build, found: dict[Quantity, float]) -> bool:
    return all(
        abs(value - build.values[assumed]) < (_SAME_KELVINS if assumed.unit == "degC" else _SAME * abs(value))
        for assumed, value in found.items()
    )


def _in_words(found: dict[Quantity, float], same: bool) -> str:
    takes = ", ".join(f"{assumed.name_in_words} {assumed.text(value)}" for assumed, value in found.items())
    return f"{takes}{', as assumed' if same else ''}"
