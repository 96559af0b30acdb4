"""SymPy expressions as functions of floats and arrays."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from keyword import iskeyword
from typing import Any

import sympy as sp
from sympy.printing.numpy import SciPyPrinter

#: Names stand alone in the text (``sqrt``, not ``numpy.sqrt``); the printer notes where each is from. What it has no
#: function for is an error, not a comment in the text.
_SETTINGS = {"fully_qualified_modules": False, "strict": True}


def compiled(inputs: Sequence[sp.Symbol], expression: sp.Basic, *, cse: bool = False) -> Callable[..., Any]:
    """Return a function of SI floats or arrays in the order of ``inputs``; ``cse`` computes once what repeats.

    SymPy's printer writes the text; its lambdify writes the same around it, and takes twice the time for what no
    formula here needs: tuples as arguments, modules by choice, a text to look at. A page begins with hundreds of them.

    What NumPy and SciPy have no function for is an error of the printer's.
    """
    # A symbol of a formula alone, not of a build, may be written as LaTeX, which is no name in Python.
    odd = [symbol for symbol in inputs if iskeyword(symbol.name) or not symbol.name.isidentifier()]
    named = {symbol: sp.Symbol(f"argument_{place}", **symbol.assumptions0) for place, symbol in enumerate(odd)}
    expression = expression.xreplace(named) if named else expression
    repeated, (last,) = sp.cse(expression) if cse else ((), (expression,))
    printer = SciPyPrinter(_SETTINGS)
    arguments = ", ".join(named.get(symbol, symbol).name for symbol in inputs)
    lines = [f"{printer.doprint(symbol)} = {printer.doprint(part)}" for symbol, part in repeated]
    lines.append(f"return {printer.doprint(last)}")
    text = "\n    ".join([f"def computed({arguments}):", *lines])
    names = {
        name: getattr(importlib.import_module(module), name)
        for module, used in printer.module_imports.items()
        for name in used
    }
    exec(text, names)
    function: Callable[..., Any] = names["computed"]
    return function
