"""What a reader uploads, as text."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets
from traitlets import Bunch

from augerbook.core.csv_lines import table_text
from augerbook.page.limits import Limits


def on_upload(upload: widgets.FileUpload, take: Callable[[str, bytes], None]) -> None:
    """Call ``take`` with name and content of each file that is uploaded.

    The widget is emptied each time: what it still held would be no news when the same file comes again.
    """

    def uploaded(change: Bunch) -> None:
        if change.new:
            upload.value = ()
        for item in change.new:
            take(str(item["name"]), bytes(item["content"]))

    upload.observe(uploaded, names="value")


def uploaded_text(name: str, content: bytes, limits: Limits) -> str:
    """Return the text of an uploaded build file or post.

    Raises:
        ValueError: it is too large, or no text; the message says what to do.
    """
    return _decoded(name, content, limits, lambda data: data.decode("utf-8-sig"))


def uploaded_table(name: str, content: bytes, limits: Limits) -> str:
    """Return the text of an uploaded table, in any of the codes that spreadsheets save.

    Raises:
        ValueError: it is too large, or no text; the message says what to do.
    """
    return _decoded(name, content, limits, table_text)


def _decoded(name: str, content: bytes, limits: Limits, decode: Callable[[bytes], str]) -> str:
    if len(content) > limits.uploaded:
        raise ValueError(limits.too_much_uploaded(f"{len(content) / 1e6:.1f}"))
    try:
        return decode(content)
    except ValueError as error:
        raise ValueError(f"'{name}' is no text file: {limits.form}") from error
