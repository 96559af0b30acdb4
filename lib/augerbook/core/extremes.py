"""The larger and the smaller of values, as SymPy writes them, without its search for which one it could leave out.

SymPy compares each with each by what it believes of their signs. Between quantities that finds nothing, and took a
third of a second at each start.
"""

from __future__ import annotations

import sympy as sp


def largest(*values: sp.Expr | int) -> sp.Expr:
    """Return the largest of the values."""
    return sp.Max(*values, evaluate=False)


def smallest(*values: sp.Expr | int) -> sp.Expr:
    """Return the smallest of the values."""
    return sp.Min(*values, evaluate=False)
