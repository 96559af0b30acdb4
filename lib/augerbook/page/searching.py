"""What a few typed words find among the names that the handbook gives to things."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TypeVar

from augerbook.core.quantity import Choice, Lookup, Quantity, Series

Item = TypeVar("Item", bound=Quantity | Choice | Lookup | Series)
#: A word of so many letters may stand anywhere inside of a longer one; a shorter one begins a word or is a symbol.
_ANYWHERE_FROM = 3


def found(query: str, items: Iterable[Item]) -> list[Item]:
    """Return the items that have every word of ``query`` in name, key, meaning, symbol or kinds, in their order.

    Where a query is the symbol of one of them, as "D_b" is, those that have just this symbol come first.
    """
    words = query.casefold().split()
    if not words:
        return list(items)
    hits = [item for item in items if all(_says(item, word) for word in words)]
    exact = query.strip()
    return sorted(hits, key=lambda item: exact not in _symbols(item))


def _symbols(item: Quantity | Choice | Lookup | Series) -> Sequence[str]:
    if isinstance(item, Quantity):
        return (item.plain_notation, item.notation)
    if isinstance(item, Series):
        return [symbol for column in item.columns for symbol in _symbols(column)]
    return ()


def _says(item: Quantity | Choice | Lookup | Series, word: str) -> bool:
    if any(word == symbol.casefold() for symbol in _symbols(item)):
        return True
    texts = [item.name_in_words, item.key, item.meaning]
    if isinstance(item, Choice):
        texts += item.options
    if isinstance(item, Series):
        texts += [column.meaning for column in item.columns]
    text = " ".join(texts).casefold()
    return word in text if len(word) >= _ANYWHERE_FROM else bool(re.search(rf"(?<![^\W_]){re.escape(word)}", text))
