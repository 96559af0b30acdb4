"""What a reader uploads, as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def uploaded_table(item: Mapping[str, Any]) -> str:
    """Return the text of an uploaded table.

    Raises:
        ValueError: it is no text; the message says what to do.
    """
    try:
        return bytes(item["content"]).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ValueError(f"'{item['name']}' is no text file: save the table as CSV in UTF-8") from error
