"""Quantities: SymPy symbols that know their unit, meaning, plausible range and digits."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

import sympy as sp

from augerbook.core.units import latex_unit, number, plain_unit, si_factor_and_offset, with_unit

_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "zeta": "ζ", "eta": "η", "theta": "θ",
    "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
    "chi": "χ", "psi": "ψ", "omega": "ω", "Delta": "Δ", "Omega": "Ω", "Phi": "Φ", "Lambda": "Λ", "Sigma": "Σ",
}  # fmt: skip


def latex_notation(notation: str) -> str:
    """Return a symbol such as ``"theta_tip"`` in LaTeX, with upright subscripts of more than one letter."""
    base, _, rest = notation.partition("_")
    head = "\\" + base if base in _GREEK else base
    if not rest:
        return head
    words = [("\\" + w if w in _GREEK else w if len(w) == 1 else rf"\mathrm{{{w}}}") for w in rest.split("_")]
    return f"{head}_{{{','.join(words)}}}"


def plain_notation(notation: str) -> str:
    """Return a symbol such as ``"theta_tip"`` in plain text, Greek letters as letters."""
    return "_".join(_GREEK.get(word, word) for word in notation.split("_"))


#: Digits beyond which one value counts as another.
_MOST_DIGITS = 6


class Quantity(sp.Symbol):
    """A SymPy symbol with a unit and a meaning.

    Attributes:
        key: the name in build files and in Python, unique in the handbook.
        notation: the symbol in formulas, such as ``"d_m"`` or ``"theta_tip"``.
        unit: the unit shown to people; inside the library the value is a float in SI base units.
        meaning: one line.
        low, high: the plausible range in ``unit`` (slider limits and input check), or None.
        digits: significant digits shown.
        part: the part of the head an input belongs to (a section of the build file); empty for results.
        primary: whether a builder changes it first.
        owner: the subject that declares it.
        title: what it is called where its key would not tell; empty where the key's own words do.
    """

    key: str
    notation: str
    unit: str
    meaning: str
    low: float | None
    high: float | None
    digits: int
    part: str
    primary: bool
    owner: str
    title: str
    _declared: dict[str, Any]

    def __new__(  # noqa: D102 (the class docstring says it)
        cls,
        key: str,
        notation: str,
        unit: str,
        meaning: str,
        *,
        low: float | None = None,
        high: float | None = None,
        digits: int = 3,
        part: str = "",
        primary: bool = False,
        owner: str = "",
        positive: bool = False,
        nonnegative: bool = False,
        title: str = "",
    ) -> Quantity:
        if not re.fullmatch(r"[a-z][a-z0-9_]*", key):
            raise ValueError(f"quantity key {key!r}: use lower case letters, digits and underscores")
        if (low is None) != (high is None) or (low is not None and high is not None and not low < high):
            raise ValueError(f"quantity {key!r}: give both ends of the range, low < high")
        factor, offset = si_factor_and_offset(unit)
        known_positive = positive or (low is not None and factor * low + offset > 0)
        sign = "positive" if known_positive else "nonnegative" if nonnegative else "real"
        # Uncached construction: SymPy would otherwise hand out one object for two declarations.
        self: Quantity = sp.Symbol.__xnew__(cls, key, **{sign: True})
        declared: dict[str, Any] = {
            "key": key, "notation": notation, "unit": unit, "meaning": meaning, "low": low, "high": high,
            "digits": digits, "part": part, "primary": primary, "owner": owner, "positive": positive,
            "nonnegative": nonnegative, "title": title,
        }  # fmt: skip
        self._declared = declared
        for name, value in declared.items():
            if name not in ("positive", "nonnegative"):
                setattr(self, name, value)
        self._factor, self._offset = factor, offset
        return self

    def __reduce__(self) -> Any:
        return (_declare, (self._declared,))

    def __getnewargs_ex__(self) -> Any:
        return ((), self._declared)

    def _hashable_content(self) -> tuple[Any, ...]:
        # SymPy keeps results by equality: without this, 2 * pitch could come back with the pitch of another network.
        content: tuple[Any, ...] = super()._hashable_content()
        return (*content, self.notation, self.unit, self.owner)

    def __copy__(self) -> Quantity:
        return self

    def __deepcopy__(self, memo: Any) -> Quantity:
        return self

    def si(self, shown: Any) -> Any:
        """Convert a value (or array) in the shown unit to SI."""
        return self._factor * shown + self._offset

    def shown(self, si: Any) -> Any:
        """Convert an SI value (or array) to the shown unit."""
        return (si - self._offset) / self._factor

    def shown_number(self, si: float) -> float:
        """Convert one SI value to the shown unit as people read it: 0 °C, where floating point has -3e-13.

        Near the zero of a scale the difference to an absolute temperature has fewer digits than the temperature.
        """
        shown = float(self.shown(si))
        return round(shown, 10) + 0.0 if self.on_a_scale else shown

    @property
    def on_a_scale(self) -> bool:
        """Whether its zero is a matter of convention, as that of degrees Celsius: a per cent of it means nothing."""
        return bool(self._offset != 0)

    @property
    def latex_notation(self) -> str:
        """The symbol in LaTeX, with upright subscripts of more than one letter."""
        return latex_notation(self.notation)

    @property
    def plain_notation(self) -> str:
        """The symbol in plain text, Greek letters as letters."""
        return plain_notation(self.notation)

    @property
    def name_in_words(self) -> str:
        """What it is called: its title, or its key as words."""
        return self.title or self.key.replace("_", " ")

    @property
    def limits(self) -> tuple[float, float]:
        """Both ends of the plausible range, in the shown unit.

        Raises:
            ValueError: it has none, since it is computed.
        """
        if self.low is None or self.high is None:
            raise ValueError(f"{self.key} has no range: it is computed")
        return self.low, self.high

    @property
    def step(self) -> float:
        """A slider step in the shown unit: about a seven-hundredth of the range, on a round number.

        Raises:
            ValueError: it has no range.
        """
        low, high = self.limits
        raw = (high - low) / 700
        power = 10.0 ** math.floor(math.log10(raw))
        return next((multiple * power for multiple in (1, 2, 5) if raw <= multiple * power * 1.0001), 10 * power)

    def text(self, si: float, *, digits: int | None = None) -> str:
        """Return an SI value as text with the shown unit: ``"6.00 mm"``; in words alone when it is no number."""
        text = self.plain_text(si, digits=digits)
        return with_unit(text, self.unit) if math.isfinite(si) else text

    def plain_text(self, si: float, *, digits: int | None = None) -> str:
        """Return an SI value as text in the shown unit, without this: for where it stands beside already."""
        return number(self.shown_number(si), digits or self.digits)

    def digits_apart(self, si: float, *others: float) -> int:
        """Return how many digits tell an SI value from others: 1.004, not 1.00, beside 1; the usual where none do."""
        for digits in range(self.digits, _MOST_DIGITS + 1):
            text = self.text(si, digits=digits)
            if all(si == other or text != self.text(other, digits=digits) for other in others):
                return digits
        return self.digits

    @property
    def range_text(self) -> str:
        """The plausible range as text with the shown unit: ``"5 to 70°"``.

        Raises:
            ValueError: it has none.
        """
        low, high = self.limits
        return with_unit(f"{low:g} to {high:g}", self.unit)

    def axis(self, words: str) -> str:
        """Return words for an axis that draws shown values: ``"gap (mm)"``; the words alone for a plain number."""
        unit = plain_unit(self.unit)
        return f"{words} ({unit})" if unit else words

    def latex_value(self, si: float, *, digits: int | None = None) -> str:
        """Return an SI value as LaTeX with the shown unit."""
        text = number(self.shown_number(si), digits or self.digits)
        if not math.isfinite(si):
            return rf"\text{{{text}}}"
        mantissa, _, exponent = text.partition("e")
        power = rf" \cdot 10^{{{exponent}}}" if exponent else ""
        return mantissa + power + latex_unit(self.unit)

    def _latex(self, printer: Any) -> str:
        names = printer._settings.get("symbol_names") or {}
        return str(names.get(self, self.latex_notation))

    def _sympystr(self, printer: Any) -> str:
        return self.key

    def _numpycode(self, printer: Any) -> str:
        return self.key


def _declare(declared: dict[str, Any]) -> Quantity:
    return Quantity(**declared)


class Declared:
    """What is the same wherever it is declared with the same key by the same owner, in another process as well."""

    key: str
    owner: str

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and isinstance(other, Declared) and self._identity == other._identity

    def __hash__(self) -> int:
        return hash(self._identity)

    @property
    def _identity(self) -> tuple[str, str]:
        return (self.key, self.owner)

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.key!r})"

    @property
    def name_in_words(self) -> str:
        """The key as words, for labels."""
        return self.key.replace("_", " ")


class Choice(Declared):
    """An input that is one of a few named kinds, such as how a plate is held.

    Attributes:
        key, part, meaning, owner: as for a quantity.
        options: the name in build files of each kind, with one line that explains it.
    """

    def __init__(self, key: str, meaning: str, options: dict[str, str], *, part: str, owner: str = "") -> None:
        self.key, self.meaning, self.options, self.part, self.owner = key, meaning, dict(options), part, owner


class Lookup(Declared):
    """A name in a build file that fills several inputs from a row of a table.

    Attributes:
        key, part, meaning, owner: as for a quantity.
        table: name of the table in ``data/tables``.
        fills: which input takes which column. A value given in the build wins over the table.
        sets: which choice takes which text column.
        tells: what a list shows beside the name of a row: a choice, or sizes of one unit that are read together.
    """

    def __init__(
        self,
        key: str,
        meaning: str,
        table: str,
        fills: dict[Quantity, str],
        *,
        part: str,
        sets: dict[Choice, str] | None = None,
        owner: str = "",
        tells: tuple[Choice | tuple[Quantity, ...], ...] = (),
    ) -> None:
        self.key, self.meaning, self.table, self.part, self.owner = key, meaning, table, part, owner
        self.fills, self.sets, self.tells = dict(fills), dict(sets or {}), tells


class Series(Declared):
    """An input that is a short table, such as the shares by mass on a set of sieves.

    A model that takes it gets one 1-D SI array per column.

    Attributes:
        key, part, meaning, owner: as for a quantity.
        columns: quantities that give each column its unit, range and meaning (they are no inputs themselves).
        check: returns a sentence for each fault of the columns (SI arrays), none when they are sound.
    """

    def __init__(
        self,
        key: str,
        meaning: str,
        columns: tuple[Quantity, ...],
        *,
        part: str,
        check: Callable[..., list[str]],
        owner: str = "",
    ) -> None:
        self.key, self.meaning, self.columns, self.part = key, meaning, tuple(columns), part
        self.check, self.owner = check, owner
