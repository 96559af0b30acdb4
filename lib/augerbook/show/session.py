"""The state behind sliders: the build wanted, the last possible build, and who wants to know of changes.

Nothing here is a widget, so that everything a page does can be tested without a browser.
"""

from __future__ import annotations

from collections.abc import Callable

from augerbook.build import Build, misfits, read_build
from augerbook.build_reader import BuildError
from augerbook.core.network import Solution
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.tables import TableError, read_table


class Session:
    """A build that is being changed.

    Attributes:
        build: the last possible build: what pictures and numbers show.
        wanted: what the sliders say; it differs from ``build`` while two of its values clash.
        message: what is wrong, in words; empty when nothing is.
    """

    def __init__(self, build: Build) -> None:
        self.build = build
        self.wanted = build
        self.message = ""
        self._listeners: list[Callable[[], None]] = []
        self._loaded: list[Callable[[], None]] = []

    @property
    def solution(self) -> Solution:
        """What follows from the last possible build."""
        return self.build.solution

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` after every change, possible or not."""
        self._listeners.append(listener)

    def on_load(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` before the change listeners when a whole build, a row or a choice was exchanged."""
        self._loaded.append(listener)

    def set_value(self, quantity: Quantity, shown: float) -> None:
        """Change one value, in its shown unit."""
        self._want(self.wanted.with_value(quantity, float(quantity.si(shown))))

    def set_choice(self, choice: Choice, option: str) -> None:
        """Change a choice."""
        if option not in choice.options:
            options = ", ".join(f"'{known}'" for known in choice.options)
            self.tell(f"{choice.name_in_words} '{option}' is not known: expected one of {options}")
            return
        self._want(self.wanted.with_choice(choice, option), whole=True)

    def set_name(self, lookup: Lookup, name: str) -> None:
        """Take another row of a table."""
        try:
            faults = misfits(lookup, read_table(lookup.table).row(name))
        except TableError as error:
            faults = [str(error)]
        if faults:
            self.tell("\n".join([f"{lookup.name_in_words} '{name}' cannot be taken:", *faults]))
            return
        self._want(self.wanted.with_name(lookup, name), whole=True)

    def load(self, build: Build) -> None:
        """Exchange the whole build."""
        self._want(build, whole=True)

    def load_text(self, text: str) -> bool:
        """Read a pasted build; when it has faults they are told and the present build stays. True when loaded."""
        try:
            build = read_build(text, self.build.network)
        except BuildError as error:
            count = len(error.faults)
            head = "The build was not loaded, yours is unchanged. "
            head += "One fault:" if count == 1 else f"{count} faults:"
            self.tell("\n".join([head, *error.faults]))
            return False
        self.load(build)
        return True

    def _want(self, build: Build, *, whole: bool = False) -> None:
        self.wanted = build
        clashes = build.clashes()
        if clashes:
            self.message = "\n".join(["These values cannot be together, the last possible build is shown:", *clashes])
        else:
            self.build, self.message = build, ""
        if whole:
            for listener in self._loaded:
                listener()
        self._notify()

    def tell(self, message: str) -> None:
        """Show a message; the build stays as it is."""
        self.message = message
        self._notify()

    def _notify(self) -> None:
        for listener in self._listeners:
            listener()
