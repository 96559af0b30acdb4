"""Sliders, lists and message lines bound to a `Session`."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence

import ipywidgets as widgets
from traitlets import Bunch

from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.units import plain_unit
from augerbook.show.session import Session
from augerbook.tables import read_table

_WIDE = widgets.Layout(width="100%")
_LABEL = {"description_width": "190px"}
#: A range of more than this ratio gets a logarithmic slider.
_LOGARITHMIC_FROM = 2000.0
#: The step of its exponent: about one per cent.
_LOG_STEP = 0.005
#: What a list shows while values were typed that no row of the table has.
_OWN = "(own values)"


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
        start = math.sqrt(low * high) if shown is None else shown
        exponents = {"min": math.log10(low), "max": math.log10(high), "step": _LOG_STEP}
        return widgets.FloatLogSlider(value=min(max(start, low), high), **exponents, readout_format=".3r", **common)
    step = quantity.step
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    start = (low + high) / 2 if shown is None else shown
    return widgets.FloatSlider(
        value=min(max(start, low), high),
        min=low,
        max=high,
        step=step,
        readout_format=f".{decimals}f",
        **common,
    )


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
        slider, before = self.by_quantity[quantity], self._set_to[quantity]
        logarithmic = isinstance(slider, widgets.FloatLogSlider)
        moved = abs(math.log10(shown / before)) if logarithmic else abs(shown - before)
        if moved <= 0.51 * slider.step:
            return True
        del self._set_to[quantity]
        return False

    def _follow(self) -> None:
        self._quiet = True
        try:
            values = self._session.wanted.values
            for quantity, slider in self.by_quantity.items():
                if quantity in values:
                    self._set_to[quantity] = slider.value = float(quantity.shown(values[quantity]))
        finally:
            self._quiet = False


class Lists:
    """Drop-down lists for the choices and the table look-ups of a part of the head."""

    def __init__(self, session: Session, items: Sequence[Choice | Lookup]) -> None:
        self._session = session
        self._quiet = False
        self.by_item = {item: self._list(item) for item in items}
        self._follow()
        for item, widget in self.by_item.items():
            widget.observe(lambda change, i=item: self._picked(i, change), names="value")
        session.on_load(self._follow)
        self.box = widgets.VBox(list(self.by_item.values()), layout=_WIDE)

    def _list(self, item: Choice | Lookup) -> widgets.Dropdown:
        options = list(item.options) if isinstance(item, Choice) else [_OWN, *read_table(item.table).rows]
        return widgets.Dropdown(
            options=options, description=item.name_in_words, tooltip=item.meaning, style=_LABEL, layout=_WIDE
        )

    def _picked(self, item: Choice | Lookup, change: Bunch) -> None:
        if self._quiet or change.new == _OWN:
            return
        if isinstance(item, Choice):
            self._session.set_choice(item, change.new)
        else:
            self._session.set_name(item, change.new)

    def _follow(self) -> None:
        self._quiet = True
        try:
            wanted = self._session.wanted
            for item, widget in self.by_item.items():
                if isinstance(item, Lookup):
                    widget.value = wanted.names.get(item, _OWN)
                elif item in wanted.choices:
                    widget.value = wanted.choices[item]
        finally:
            self._quiet = False


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
