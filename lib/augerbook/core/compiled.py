"""SymPy expressions as functions of floats and arrays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import sympy as sp


def compiled(
    inputs: Sequence[sp.Symbol], expression: sp.Basic, *, modules: str | list[str] = "numpy", cse: bool = False
) -> Callable[..., Any]:
    """Return a function of SI floats or arrays in the order of ``inputs``; ``cse`` computes once what repeats.

    It has no docstring: to write into it what is computed takes a third of the time, and nobody reads it there.
    """
    function: Callable[..., Any] = sp.lambdify(inputs, expression, modules=modules, cse=cse, docstring_limit=0)
    return function
