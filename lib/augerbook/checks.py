"""Published figures, typed once in ``data/checks``, run against the library by the chapters and by the tests."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from augerbook.chapters import whole_head
from augerbook.core.network import Network
from augerbook.core.quantity import Choice, Quantity
from augerbook.core.units import UnitError, parse_number_with_unit, to_si
from augerbook.tables import data_path, references

_FIELDS = {"what", "covers", "source", "place", "seen", "tolerance", "note", "given", "choices", "expect"}


class CheckError(ValueError):
    """A published check that is written wrongly; the message names the file, the check and the fault."""


@dataclass(frozen=True)
class Outcome:
    """One published figure beside the library's, both in SI."""

    quantity: Quantity
    published: float
    computed: float
    tolerance: float

    @property
    def difference(self) -> float:
        """Relative difference in the shown unit; absolute where the published figure is zero there."""
        computed, published = (float(self.quantity.shown(si)) for si in (self.computed, self.published))
        return abs(computed - published) / (abs(published) or 1.0)

    @property
    def agrees(self) -> bool:
        """Whether the difference is within the tolerance."""
        return self.difference <= self.tolerance


@dataclass(frozen=True)
class Check:
    """A published example: what is given there, what it finds, and where it stands.

    Attributes:
        covers: ids of the relations and models that take part and are checked by it.
        seen: whether the figures were seen in public text; otherwise they are from memory and say so.
        tolerance: relative; set by the digits that the source prints.
    """

    subject: str
    what: str
    covers: tuple[str, ...]
    source: str
    place: str
    seen: bool
    tolerance: float
    note: str
    given: dict[Quantity, float]
    choices: dict[Choice, str]
    expect: dict[Quantity, float]

    def provenance(self, *, linked: bool = False) -> str:
        """Where the figures are from, in one line; in Markdown with a link, when asked for."""
        work = references()[self.source]
        known = work.linked() if linked else work.cite()
        return f"{known}, {self.place}" + ("" if self.seen else " (figures from memory)")

    def run(self, network: Network | None = None) -> tuple[Outcome, ...]:
        """Compute what the source computed.

        Raises:
            CheckError: an expected quantity cannot be computed, or a covered relation takes no part.
        """
        net = network or whole_head()
        given = {q: v for q, v in self.given.items() if q not in self.expect}
        solution = net.solve(given, self.choices)
        absent = [f"{q.key} {solution.why_missing(q)}" for q in self.expect if q not in solution.values]
        if absent:
            raise CheckError(f"{self.subject}: '{self.what}': {'; '.join(absent)}")
        used = {node.id for node in net.chain(self.expect, solution.given, self.choices)}
        idle = [node_id for node_id in self.covers if node_id not in used]
        if idle:
            raise CheckError(f"{self.subject}: '{self.what}' does not use {idle}")
        return tuple(Outcome(q, v, solution[q], self.tolerance) for q, v in self.expect.items())


@cache
def published_checks(subject: str) -> tuple[Check, ...]:
    """Read the published checks of a subject.

    Raises:
        CheckError: an entry is incomplete or names something unknown.
    """
    path = data_path("checks", f"{subject}.toml")
    if not path.is_file():
        return ()
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    return tuple(_check(subject, entry) for entry in document.get("check", ()))


def _check(subject: str, entry: dict[str, object]) -> Check:
    net = whole_head()
    where = f"checks/{subject}.toml, '{entry.get('what', '?')}'"
    try:
        given, choices, expect = (dict(entry.get(key, {})) for key in ("given", "choices", "expect"))  # type: ignore[call-overload]
        if entry["source"] not in references():
            raise CheckError(f"{where}: source '{entry['source']}' is not in references.toml")
        unknown = [node_id for node_id in entry["covers"] if node_id not in net.nodes]  # type: ignore[attr-defined]
        if unknown:
            raise CheckError(f"{where}: no relation or model {unknown}")
        surplus = sorted(set(entry) - _FIELDS)
        if surplus:
            raise CheckError(f"{where}: {surplus} is not among {sorted(_FIELDS)}")
        return Check(
            subject=subject,
            what=str(entry["what"]),
            covers=tuple(entry["covers"]),  # type: ignore[arg-type]
            source=str(entry["source"]),
            place=str(entry["place"]),
            seen=bool(entry["seen"]),
            tolerance=float(entry["tolerance"]),  # type: ignore[arg-type]
            note=str(entry.get("note", "")),
            given={net.quantities[key]: _si(net.quantities[key], text) for key, text in given.items()},
            choices={net.choices[key]: str(option) for key, option in choices.items()},
            expect={net.quantities[key]: _si(net.quantities[key], text) for key, text in expect.items()},
        )
    except KeyError as error:
        raise CheckError(f"{where}: {error} is missing or unknown") from error
    except CheckError:
        raise
    except (TypeError, ValueError) as error:
        raise CheckError(f"{where}: {error}") from error


def _si(quantity: Quantity, text: object) -> float:
    try:
        return to_si(*parse_number_with_unit(str(text)), quantity.unit)
    except UnitError as error:
        raise UnitError(f'{quantity.key} = "{text}" {error}') from error
