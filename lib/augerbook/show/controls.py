"""Sliders, lists and message lines bound to a `Session`."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence

import ipywidgets as widgets
from traitlets import Bunch

from augerbook.build import usable_rows
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.units import plain_unit
from augerbook.show.session import Session

_WIDE = widgets.Layout(width="100%")
#: A list has a border and margins that count beside its width.
_WIDE_LIST = widgets.Layout(width="calc(100% - 4px)")
_LABEL = {"description_width": "190px"}
#: A range of more than this ratio gets a logarithmic slider.
_LOGARITHMIC_FROM = 2000.0
#: The step of its exponent: about one per cent.
_LOG_STEP = 0.005
#: What a list shows while no row of its table was taken, or one of its values was changed, or nothing was chosen.
_OWN, _CHANGED, _NONE = "(own values)", "(changed)", "(not chosen)"


def slider_for(quantity: Quantity, shown: float | None = None) -> widgets.FloatSlider | widgets.FloatLogSlider:
    """Return a slider with the quantity's name, unit, limits and keyboard step."""
    if quantity.low is None or quantity.high is None:
        raise ValueError(f"{quantity.key} is computed: it has no slider")
    low, high = quantity.low, quantity.high
    unit = plain_unit(quantity.unit)
    label = f"{quantity.name_in_words} ({unit})" if unit else quantity.name_in_words
    common = {
        "description": label, "tooltip": quantity.meaning, "continuous_update": True, "style": _LABEL, "layout": _WIDE,
    }  # fmt: skip
    if low > 0 and high / low >= _LOGARITHMIC_FROM:
        exponents = {"min": math.log10(low), "max": math.log10(high), "step": _LOG_STEP}
        slider = widgets.FloatLogSlider(value=math.sqrt(low * high), **exponents, readout_format=".3r", **common)
    else:
        step = quantity.step
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        limits = {"value": (low + high) / 2, "min": low, "max": high, "step": step}
        slider = widgets.FloatSlider(**limits, readout_format=f".{decimals}f", **common)
    if shown is not None:
        place(slider, quantity, shown)
    return slider


def place(slider: widgets.FloatSlider | widgets.FloatLogSlider, quantity: Quantity, shown: float) -> None:
    """Set a slider to a value in the shown unit, and count its steps from there.

    The browser rounds to whole steps from the lower end: counted from there, a fill height of 90 mm would read 91.
    """
    assert quantity.low is not None and quantity.high is not None
    value = min(max(shown, quantity.low), quantity.high)
    low, at = quantity.low, value
    if isinstance(slider, widgets.FloatLogSlider):
        low, at = math.log10(low), math.log10(value)
    above = math.fmod(at - low, slider.step)
    on_step = min(above, slider.step - above) < 1e-6 * slider.step
    with slider.hold_sync():
        slider.min = low if on_step else low + above
        slider.value = value


class Sliders:
    """Sliders for some inputs of a session, kept in step with it."""

    def __init__(self, session: Session, quantities: Sequence[Quantity]) -> None:
        self._session = session
        self._quiet = False
        self._set_to: dict[Quantity, float] = {}
        self.by_quantity = {q: slider_for(q) for q in quantities}
        self._follow()
        for quantity, slider in self.by_quantity.items():
            slider.observe(lambda change, q=quantity: self._moved(q, change), names="value")
        session.on_load(self._follow)
        session.on_change(self._mirror)
        self.box = widgets.VBox(list(self.by_quantity.values()), layout=_WIDE)

    def _moved(self, quantity: Quantity, change: Bunch) -> None:
        if not self._quiet and not self._is_echo(quantity, change.new):
            self._session.set_value(quantity, change.new)

    def _is_echo(self, quantity: Quantity, shown: float) -> bool:
        """Whether a slider only reports the value it was set to, rounded to its step.

        The browser does so when a slider appears; a build must not change because it is looked at.
        """
        if quantity not in self._set_to:
            return False
        if self._same_place(quantity, shown, self._set_to[quantity]):
            return True
        del self._set_to[quantity]
        return False

    def _same_place(self, quantity: Quantity, one: float, other: float) -> bool:
        slider = self.by_quantity[quantity]
        logarithmic = isinstance(slider, widgets.FloatLogSlider)
        moved = abs(math.log10(one / other)) if logarithmic else abs(one - other)
        return bool(moved <= 0.51 * slider.step)

    def _follow(self) -> None:
        self._quiet = True
        try:
            values = self._session.wanted.values
            for quantity, slider in self.by_quantity.items():
                if quantity in values:
                    place(slider, quantity, float(quantity.shown(values[quantity])))
                    self._set_to[quantity] = slider.value
        finally:
            self._quiet = False

    def _mirror(self) -> None:
        """Follow a value that was changed elsewhere, by another slider of the same quantity."""
        values = self._session.wanted.values
        if any(
            not self._same_place(q, slider.value, float(q.shown(values[q])))
            for q, slider in self.by_quantity.items()
            if q in values
        ):
            self._follow()


class Lists:
    """Drop-down lists for the choices and the table look-ups of a part of the head."""

    def __init__(self, session: Session, items: Sequence[Choice | Lookup]) -> None:
        self._session = session
        self._quiet = False
        self._names = {item: tuple(item.options if isinstance(item, Choice) else usable_rows(item)) for item in items}
        self.by_item = {item: self._list(item) for item in items}
        self._follow()
        for item, widget in self.by_item.items():
            widget.observe(lambda change, i=item: self._picked(i, change), names="value")
        session.on_change(self._follow)
        self.box = widgets.VBox(list(self.by_item.values()), layout=_WIDE)

    def _list(self, item: Choice | Lookup) -> widgets.Dropdown:
        return widgets.Dropdown(
            options=self._names[item],
            description=item.name_in_words,
            tooltip=item.meaning,
            style=_LABEL,
            layout=_WIDE_LIST,
        )

    def _picked(self, item: Choice | Lookup, change: Bunch) -> None:
        if self._quiet or change.new not in self._names[item]:
            return
        if isinstance(item, Choice):
            self._session.set_choice(item, change.new)
        else:
            self._session.set_name(item, change.new)

    def _follow(self) -> None:
        self._quiet = True
        try:
            for item, widget in self.by_item.items():
                shown = self._shown(item)
                # What is shown but cannot be picked stands above the rest.
                options = self._names[item] if shown in self._names[item] else (shown, *self._names[item])
                if tuple(widget.options) != options:
                    widget.options = options
                widget.value = shown
        finally:
            self._quiet = False

    def _shown(self, item: Choice | Lookup) -> str:
        wanted = self._session.wanted
        if isinstance(item, Choice):
            return wanted.choices.get(item, _NONE)
        if item not in wanted.names:
            return _OWN
        own = any(q in wanted.entries for q in item.fills) or any(c in wanted.chosen for c in item.sets)
        return f"{wanted.names[item]} {_CHANGED}" if own else wanted.names[item]


class MessageLine:
    """One place on the page that says what is wrong, read aloud by screen readers when it changes."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.widget = widgets.HTML(layout=_WIDE)
        session.on_change(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the session's message."""
        self.widget.value = message_html(self._session.message)


def message_html(message: str) -> str:
    """Return a message as HTML: its first line as heading, the rest as a list."""
    if not message:
        return '<div role="status"></div>'
    first, *rest = (html.escape(line) for line in message.splitlines())
    items = "".join(f"<li>{line}</li>" for line in rest)
    body = f"<ul style='margin:4px 0 0 18px;padding:0'>{items}</ul>" if items else ""
    return (
        '<div role="status" style="border-left:6px solid #9c3a10;background:#fdf1ea;color:#1f2328;'
        f'padding:6px 10px;line-height:1.4"><b>{first}</b>{body}</div>'
    )
