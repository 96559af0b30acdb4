"""Formulas for people: in LaTeX and on one line of text, with symbols or with the values in their place.

Sums begin with a positive term. Values stand in brackets only where a product or a power would run into their units.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import sympy as sp
from sympy.printing.latex import LatexPrinter
from sympy.printing.precedence import PRECEDENCE
from sympy.printing.str import StrPrinter

from augerbook.core.quantity import Quantity

#: Digits of a number in a formula: what SymPy works out of printed constants has no end otherwise.
_DIGITS = 6
_SUPERSCRIPTS = {"2": "²", "3": "³", "4": "⁴"}


def plain_formula(expression: sp.Basic, values: Mapping[Quantity, str] | None = None) -> str:
    """Return ``expression`` on one line, with each quantity's symbol or the value or symbol given in ``values``."""
    text = _Plain(values or {}).doprint(expression)
    text = text.replace("**", "^").replace("*", "·").replace("sqrt(", "√(")
    text = re.sub(r"\(\(([^()]*)\)\)", r"(\1)", text)
    return re.sub(r"\^([234])(?![\d.])", lambda match: _SUPERSCRIPTS[match[1]], text)


def latex_formula(expression: sp.Basic, values: Mapping[Quantity, str] | None = None) -> str:
    """Return ``expression`` in LaTeX, with each quantity's symbol or the value or symbol given in ``values``."""
    return str(_Latex(values or {}).doprint(expression))


def _positive_first(terms: list[sp.Expr]) -> list[sp.Expr]:
    return sorted(terms, key=lambda term: bool(term.could_extract_minus_sign()))


class _Plain(StrPrinter):
    printmethod = ""  # not Quantity's own text, which is its key

    def __init__(self, values: Mapping[Quantity, str]) -> None:
        super().__init__()
        self._values = values

    def _as_ordered_terms(self, expr: sp.Expr, order: Any = None) -> list[sp.Expr]:
        return _positive_first(super()._as_ordered_terms(expr, order))

    def parenthesize(self, item: sp.Basic, level: int, strict: bool = False) -> str:
        text = str(super().parenthesize(item, level, strict))
        # A product with a minus sign ranks as a sum.
        bare = isinstance(item, Quantity) and level >= PRECEDENCE["Add"] and not text.startswith("(")
        has_unit = " " in text or text.endswith("°")
        return f"({text})" if bare and has_unit else text

    def _print_Quantity(self, expr: Quantity) -> str:
        text = self._values.get(expr, expr.plain_notation)
        return f"({text})" if text.startswith("-") else text

    def _print_Float(self, expr: sp.Float) -> str:
        return str(super()._print_Float(sp.Float(expr, _DIGITS)))

    def _print_Pi(self, expr: sp.Expr) -> str:
        return "π"

    def _print_Infinity(self, expr: sp.Expr) -> str:
        return "∞"

    def _print_Max(self, expr: sp.Expr) -> str:
        return f"max({self.stringify(sorted(expr.args, key=sp.default_sort_key), ', ')})"

    def _print_Min(self, expr: sp.Expr) -> str:
        return f"min({self.stringify(sorted(expr.args, key=sp.default_sort_key), ', ')})"

    def _print_Abs(self, expr: sp.Expr) -> str:
        return f"|{self._print(expr.args[0])}|"

    def _print_Relational(self, expr: sp.Rel) -> str:
        sign = {"<=": "≤", ">=": "≥", "==": "=", "!=": "≠"}.get(expr.rel_op, expr.rel_op)
        return f"{self._print(expr.lhs)} {sign} {self._print(expr.rhs)}"

    def _print_Piecewise(self, expr: sp.Piecewise) -> str:
        cases = (f"{self._print(e)} {'otherwise' if c == True else f'if {self._print(c)}'}" for e, c in expr.args)  # noqa: E712
        return "{" + "; ".join(cases) + "}"


class _Latex(LatexPrinter):
    def __init__(self, values: Mapping[Quantity, str]) -> None:
        super().__init__({"parenthesize_super": False, "symbol_names": dict(values)})
        self._values = values

    def _as_ordered_terms(self, expr: sp.Expr, order: Any = None) -> list[sp.Expr]:
        return _positive_first(super()._as_ordered_terms(expr, order))

    def _print_Float(self, expr: sp.Float) -> str:
        return str(super()._print_Float(sp.Float(expr, _DIGITS)))

    def _is_value(self, item: sp.Basic) -> bool:
        return isinstance(item, Quantity) and re.match(r"[-\d]", self._values.get(item, "")) is not None

    def parenthesize(self, item: sp.Basic, level: int, is_neg: bool = False, strict: bool = False) -> str:
        if self._is_value(item) and level >= PRECEDENCE["Pow"]:
            return rf"\left({self._print(item)}\right)"
        return str(super().parenthesize(item, level, is_neg, strict))

    def _needs_mul_brackets(self, expr: sp.Expr, first: bool = False, last: bool = False) -> bool:
        return self._is_value(expr) or bool(super()._needs_mul_brackets(expr, first, last))

    def _needs_add_brackets(self, expr: sp.Expr) -> bool:
        negative = self._is_value(expr) and self._values[expr].startswith("-")
        return negative or bool(super()._needs_add_brackets(expr))
