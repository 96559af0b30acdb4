"""One quantity to change: a slider, a field with the exact value, and where it is wanted a field with its spread."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeAlias

import ipywidgets as widgets
from traitlets import Bunch, CFloat

from augerbook.builds.build import exact_number
from augerbook.builds.typed import spread_text
from augerbook.core.quantity import Quantity
from augerbook.core.units import plain_unit
from augerbook.page.keyboard import LOGARITHMIC
from augerbook.page.noted import Noted

_STRETCHED = widgets.Layout(flex="1 1 240px", width="auto", min_width="0")
_FIELD = widgets.Layout(flex="0 0 auto", width="92px")
_SPREAD_FIELD = widgets.Layout(flex="0 0 auto", width="122px")
#: The label beside the slider is that of both; the field's own takes no room, and is there for screen readers.
_FIELD_STYLE = widgets.Text(style={"description_width": "0px"}).style
#: A slider of a quantity that is not given stands somewhere: its handle is grey, and its field empty.
_GIVEN = widgets.SliderStyle(description_width="212px", handle_color="white")
_ABSENT = widgets.SliderStyle(description_width="212px", handle_color="#9aa4ae")
#: A range of more than this ratio gets a logarithmic slider.
_LOGARITHMIC_FROM = 2000.0
#: The step of its exponent: about one per cent, so that three digits tell two neighbours apart.
_LOG_STEP, _LOG_DIGITS = 0.005, 3
#: Digits that a number keeps in a build file: what a browser adds behind them is the noise of its arithmetic.
_DIGITS = 12
#: How far from where a slider was put, in steps, what the browser reports is still the same place: it rounds to steps.
#: A person moves by one step at least. Where a person put it only noise is left.
_ROUNDED, _NOISE = 0.51, 0.01

# ipywidgets answers what comes from the browser with a copy of it, so that lists and fields agree with the kernel when
# something from there was under way meanwhile. A slider that is dragged sends its next place before that matters, and
# the copies would take a third of the time to the picture.
_UNANSWERED = {"sync": True, "echo_update": False}

Slider: TypeAlias = widgets.FloatSlider | widgets.FloatLogSlider


class _EndsFirst(widgets.Widget):
    """Sends the ends of a slider before its value.

    The browser takes one after the other. Given the value first it would round it to the old steps, then what came out
    to the new ones, and report a place a whole step away, which nobody can tell from a move.
    """

    def send_state(self, key: str | Iterable[str] | None = None) -> None:
        super().send_state(sorted(key) if isinstance(key, set) else key)


class _LinearSlider(_EndsFirst, widgets.FloatSlider):
    value = CFloat(0.0).tag(**_UNANSWERED)


class _LogarithmicSlider(_EndsFirst, widgets.FloatLogSlider):
    value = CFloat(1.0).tag(**_UNANSWERED)


def label_of(quantity: Quantity) -> str:
    """Return name and unit of a quantity."""
    unit = plain_unit(quantity.unit)
    return f"{quantity.name_in_words} ({unit})" if unit else quantity.name_in_words


def slider_for(quantity: Quantity, shown: float | None = None) -> Slider:
    """Return a slider with the quantity's name, unit, limits and keyboard step; without a value it stands midway.

    Raises:
        ValueError: the quantity is computed.
    """
    low, high = quantity.limits
    common = {
        "description": label_of(quantity), "tooltip": quantity.meaning, "continuous_update": True, "readout": False,
        "style": _ABSENT, "layout": _STRETCHED,
    }  # fmt: skip
    slider: Slider
    if low > 0 and high / low >= _LOGARITHMIC_FROM:
        middle = math.sqrt(low * high)
        slider = _LogarithmicSlider(
            value=middle, min=math.log10(low), max=math.log10(high), step=_LOG_STEP, **common
        )  # fmt: skip
        slider.add_class(LOGARITHMIC)
    else:
        middle = (low + high) / 2
        slider = _LinearSlider(value=middle, min=low, max=high, step=quantity.step, **common)
    place(slider, quantity, middle if shown is None else shown)
    return slider


def place(slider: Slider, quantity: Quantity, shown: float) -> None:
    """Set a slider to a value in the shown unit, and count its steps from there.

    The browser rounds to whole steps from the lower end: counted from there, a fill height of 90 mm would read 91.
    """
    low, high = quantity.limits
    at = value = min(max(shown, low), high)
    if isinstance(slider, widgets.FloatLogSlider):
        low, at = math.log10(low), math.log10(value)
    above = math.fmod(at - low, slider.step)
    on_step = min(above, slider.step - above) < 1e-6 * slider.step
    with slider.hold_sync():
        slider.min = low if on_step else low + above
        slider.value = value


class ValueRow:
    """A slider and a field that say one value, and hear of it in two ways.

    Attributes:
        slider: left and right by steps; the browser reports where it stands when it appears, rounded to a step.
        field: the value with all its digits, in the shown unit; empty while it is not given.
        spread: low and high as a text, empty while the value is known exactly; None in rows without it.
        noted: all of them with room for a note.
    """

    def __init__(
        self,
        quantity: Quantity,
        moved: Callable[[Quantity, float], None],
        typed: Callable[[Quantity, str], None],
        spread_typed: Callable[[Quantity, str], None] | None = None,
    ) -> None:
        """Call ``moved`` with a value in the shown unit that a person moved the slider to, ``typed`` with a text.

        Where there is something to call with the text of a spread, the row has a field for it.
        """
        self.quantity = quantity
        self._moved, self._typed = moved, typed
        self.slider = slider_for(quantity)
        self.field = widgets.Text(
            description=label_of(quantity), placeholder="not given", continuous_update=False,
            layout=_FIELD, style=_FIELD_STYLE,
        )  # fmt: skip
        self.spread: widgets.Text | None = None
        self._spread_typed = spread_typed
        if spread_typed is not None:
            self.spread = widgets.Text(
                description=f"spread of {label_of(quantity)}", placeholder="", continuous_update=False,
                tooltip="From low to high, such as 0.2 to 0.35, or ± 0.1; empty while the value is known exactly",
                layout=_SPREAD_FIELD, style=_FIELD_STYLE,
            )  # fmt: skip
            self.spread.observe(self._spread_changed, names="value")
        self.noted = Noted([w for w in (self.slider, self.field, self.spread) if w is not None])
        self._si: float | None = None
        self._ends: tuple[float, float] | None = None
        self._quiet = False
        self._stands, self._within = self.slider.value, _ROUNDED
        self.slider.observe(self._slider_moved, names="value")
        self.field.observe(self._field_changed, names="value")

    def show(self, si: float | None, ends: tuple[float, float] | None = None) -> None:
        """Show an SI value with the ends of its spread, or that there is none."""
        if si != self._si:
            self._si = si
            if si is not None:
                self._put(float(self.quantity.shown(si)))
            self._write()
        if self.spread is not None:
            self._ends = ends
            self._write_spread()

    def _put(self, shown: float) -> None:
        self._quiet = True
        try:
            place(self.slider, self.quantity, shown)
        finally:
            self._quiet = False
        self._stands, self._within = self.slider.value, _ROUNDED

    def _write(self) -> None:
        """Let field and handle say what is given."""
        self._quiet = True
        try:
            self.field.value = "" if self._si is None else exact_number(self.quantity, self._si)
            style = _ABSENT if self._si is None else _GIVEN
            if self.slider.style is not style:
                self.slider.style = style
        finally:
            self._quiet = False

    def _write_spread(self) -> None:
        if self.spread is None:
            return
        self._quiet = True
        try:
            self.spread.value = "" if self._ends is None else spread_text(self.quantity, *self._ends)
            self.spread.placeholder = "" if self._si is None else "exact"
        finally:
            self._quiet = False

    def _spread_changed(self, change: Bunch) -> None:
        if not self._quiet and self._spread_typed is not None:
            self._spread_typed(self.quantity, change.new)
            self._write_spread()  # as it is stored, or as it was when nothing was taken

    def _slider_moved(self, change: Bunch) -> None:
        if self._quiet or self._steps_from_rest(change.new) <= self._within:
            return
        self._stands, self._within = change.new, _NOISE
        shown = self._plain(change.new)
        self._si = float(self.quantity.si(shown))
        self._moved(self.quantity, shown)
        self._write()  # after the picture, which has been drawn by now: nothing may keep the browser from painting it

    def _steps_from_rest(self, shown: float) -> float:
        if isinstance(self.slider, widgets.FloatLogSlider):
            return abs(math.log10(shown / self._stands)) / self.slider.step
        return float(abs(shown - self._stands) / self.slider.step)

    def _plain(self, shown: float) -> float:
        """Return a place of the slider as a number that a person would write."""
        logarithmic = isinstance(self.slider, widgets.FloatLogSlider)
        rounded = float(f"{shown:.{_LOG_DIGITS if logarithmic else _DIGITS}g}")
        low, high = self.quantity.limits
        return min(max(rounded, low), high)

    def _field_changed(self, change: Bunch) -> None:
        if not self._quiet:
            self._typed(self.quantity, change.new)
            self._write()  # as it is stored, or as it was when nothing was taken
