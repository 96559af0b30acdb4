"""Units: the one registry, numbers as text, and numbers read from text.

Units live at the boundary only. Inside SymPy and NumPy every value is a plain float in SI base units.
"""

from __future__ import annotations

import hashlib
import math
import re
from functools import cache, lru_cache, partial
from typing import Any, TypeVar

import numpy as np
import pint
import platformdirs
from numpy.typing import NDArray

Value = TypeVar("Value", float, NDArray[np.float64])

# Offset units are never converted silently: 0.2 W/K times 210 degC must not be 96.6 W.
_units = partial(pint.UnitRegistry, autoconvert_offset_to_baseunit=False)


def _kept_registry() -> pint.UnitRegistry[float]:
    """Return pint's units as they were kept in the user's cache, and keep them there the first time."""
    # Pint finds what it kept by content, and in it stands where pint was installed then: with a folder for all (its
    # ":auto:"), a new environment would look for the lists of one that is gone.
    installed = hashlib.sha256(pint.__file__.encode()).hexdigest()[:16]
    return _units(cache_folder=platformdirs.user_cache_path("augerbook", appauthor=False) / f"pint-{installed}")


def _registry() -> pint.UnitRegistry[float]:
    try:
        return _kept_registry()  # to read the lists takes 0.2 s
    except Exception:  # nowhere to write, or a file that another process is just writing: pint names no one error
        return _units()


#: The one registry.
ureg = _registry()

_TEXT_LIMIT = 60
_NUMBER = re.compile(r"^\s*([+-]?(?:\d{1,18}(?:\.\d{0,18})?|\.\d{1,18})(?:[eE][+-]?\d{1,3})?)\s*(.*?)\s*$", re.ASCII)
_DECIMAL_COMMA = re.compile(r"^(\s*[+-]?\d*),(\d+)(?![\d.,])")
# Names with at most one digit of power: a unit such as mm**9**9 would keep pint busy for hours.
_FACTOR = r"(?:1|[A-Za-z\u00b5\u03bcΩ_]+(?:\*\*-?[0-9])?)"
_PRODUCT = rf"{_FACTOR}(?:[*/ ]{_FACTOR})*"
_UNIT = re.compile(rf"(?:{_PRODUCT}|\({_PRODUCT}\))(?:[*/ ](?:{_FACTOR}|\({_PRODUCT}\)))*")
#: What people write for a unit. Turns a minute are counted: to pint they are an angle, 2 pi times as much.
_SPELLINGS = {"": "dimensionless", "1": "dimensionless", "°": "deg", "rpm": "1/min", "rev/min": "1/min", "in.": "in"}


class UnitError(ValueError):
    """A text that is not a number with a known unit; the message says what is wrong with "The text ..."."""


@cache
def si_factor_and_offset(unit: str) -> tuple[float, float]:
    """Return ``(factor, offset)`` such that ``si = factor * shown + offset`` for ``unit``.

    Temperatures on a scale (``degC``) have an offset; temperature differences (``delta_degC``) have none.

    Raises:
        UnitError: the unit counts in powers, as decibels do.
    """
    zero, one, two = (float(ureg.Quantity(x, unit).to_base_units().magnitude) for x in (0.0, 1.0, 2.0))
    if not math.isclose(two - one, one - zero, rel_tol=1e-9):
        raise UnitError(f"'{unit}' is not a unit that can be converted here")
    return one - zero, zero


@cache
def _base(unit: str) -> frozenset[tuple[str, Any]]:
    """Return the SI base units of ``unit`` with powers; unlike a dimension they tell an angle from a plain number."""
    return frozenset(ureg.Quantity(0.0, unit).to_base_units().unit_items())


@cache
def dimensionality(unit: str) -> pint.util.UnitsContainer:
    """Return the physical dimension of ``unit``."""
    return ureg.parse_units(unit).dimensionality


_SHORT = {
    "": "",
    "1": "",
    "dimensionless": "",
    "percent": "%",
    "delta_degC": "K",
    "degC": "°C",
    "degF": "°F",
    "deg": "°",
    "ohm": "Ω",
}


@cache
def plain_unit(unit: str) -> str:
    """Return ``unit`` as short readable text: ``"N*m"`` becomes ``"N·m"``; dimensionless is empty."""
    if unit in _SHORT:
        return _SHORT[unit]
    text = unit.replace("delta_degC", "K").replace("**2", "²").replace("**3", "³").replace("**4", "⁴")
    return re.sub(r"\bu(?=[a-zA-Z])", "µ", text).replace("*", "·")


@cache
def latex_unit(unit: str) -> str:
    """Return ``unit`` as upright LaTeX, with a leading thin space; dimensionless is empty."""
    text = plain_unit(unit)
    if not text:
        return ""
    for character, power in (("²", "^{2}"), ("³", "^{3}"), ("⁴", "^{4}")):
        text = text.replace(character, power)
    text = text.replace("·", r"\,").replace("°C", r"{}^{\circ}C").replace("°", r"^{\circ}")
    text = text.replace("µ", r"\mu ").replace("%", r"\%")
    separator = "" if text.startswith("^") else r"\,"
    return separator + r"\mathrm{" + text + "}"


def number(value: float, digits: int = 3) -> str:
    """Return ``value`` with ``digits`` significant digits, in plain notation where a person would read it.

    Zeros that carry information stay: ``number(6.0, 3)`` is ``"6.00"``. More than five figures before the point
    are rounded to the digits asked for: nobody means each of 1844525 hours.
    """
    if math.isnan(value):
        return "not defined"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if value == 0:
        return "0"
    mantissa, exponent_text = f"{value:.{digits - 1}e}".split("e")
    exponent = int(exponent_text)
    if exponent < -4 or exponent >= 7:
        return f"{mantissa}e{exponent}"
    if exponent >= 5:
        value = round(value, digits - 1 - exponent)
    return f"{value:.{max(digits - 1 - exponent, 0)}f}"


def with_unit(number_text: str, unit: str) -> str:
    """Return a number's text with ``unit`` as short text after it: ``"6.00 mm"``, ``"30°"``, ``"12 %"``."""
    text = plain_unit(unit)
    return number_text + ("" if text in ("", "°") else " ") + text


def parse_number_with_unit(text: str, *, decimal_comma: bool = False) -> tuple[float, str]:
    """Split ``"6.0 mm"`` into ``(6.0, "mm")`` without evaluating anything.

    Args:
        decimal_comma: take ``"6,0 mm"`` for the same. Files are refused with a comma: who wrote it may be far away.

    Raises:
        UnitError: not a finite number, or a unit nobody knows; the message completes "The text ...".
    """
    if len(text) > _TEXT_LIMIT:
        raise UnitError("is too long for a number with a unit")
    if decimal_comma:
        text = _DECIMAL_COMMA.sub(r"\1.\2", text)
    if re.match(r"^\s*[+-]?[\d.]*,\d", text):
        only = "one decimal point or comma" if decimal_comma else "a decimal point"
        raise UnitError(f"has a comma: write {only} and no other separator")
    match = _NUMBER.match(text)
    if match is None:
        raise UnitError("is not a number with a unit")
    value = float(match.group(1))
    if not math.isfinite(value):
        raise UnitError("is not a finite number")
    try:
        return value, known_unit(match.group(2))
    except UnitError as error:
        raise UnitError(f"has the unit '{match.group(2)}', which is not known here") from error


@lru_cache(maxsize=1024)
def known_unit(text: str) -> str:
    """Return a unit that somebody typed as pint writes it: ``"°C"`` becomes ``"degC"``, ``"Nm"`` ``"N*m"``.

    Raises:
        UnitError: nobody knows it, or it cannot be converted by a factor and an offset.
    """
    if len(text) > _TEXT_LIMIT:
        raise UnitError("is too long for a unit")
    unit = re.sub(r"°([CF])", r"deg\1", text).replace("%", "percent").replace("^", "**").replace("·", "*")
    unit = unit.replace("²", "**2").replace("³", "**3").replace("⁴", "**4").strip()
    # Nm and mm3 are how most people type them; to pint the first is a count of yarn, the second nothing.
    unit = re.sub(r"(?<=[a-z])([234])\b", r"**\1", re.sub(r"\bN([cm]?m)\b", r"N*\1", unit))
    unit = re.sub(r"\s*(\*\*|[*/() ])\s*", r"\1", unit)
    unit = _SPELLINGS.get(unit, unit)
    if not _UNIT.fullmatch(unit):
        raise UnitError("is not a unit known here")
    try:
        si_factor_and_offset(unit)
    except Exception as error:  # pint raises errors of many kinds for malformed units
        raise UnitError("is not a unit known here") from error
    return unit


def unit_fault(unit: str, expected_unit: str) -> str:
    """Say what keeps a unit that somebody typed from standing for ``expected_unit``; empty where nothing does."""
    try:
        to_si(1.0, unit, expected_unit)
    except UnitError as error:
        return str(error)
    return ""


def to_si(value: Value, unit: str, expected_unit: str) -> Value:
    """Convert one value or an array of them in ``unit`` to SI base units, checking that it fits ``expected_unit``.

    Raises:
        UnitError: nobody knows the unit, it measures something else, or a bare number stands where a unit is needed.
            An angle is something else than a plain number: "0.5" for degrees is refused, not taken for radians.
    """
    unit = known_unit(unit)
    if _base(unit) != _base(expected_unit):
        wanted = f"a value in {plain_unit(expected_unit)}" if plain_unit(expected_unit) else "a plain number"
        given = f"is in {plain_unit(unit)}" if plain_unit(unit) else "has no unit"
        raise UnitError(f"{given}, but {wanted} is expected")
    factor, offset = si_factor_and_offset(unit)
    if expected_unit == "delta_degC" and offset != 0:
        raise UnitError("is a temperature on a scale, but a difference is expected: write it in K")
    return factor * value + offset
