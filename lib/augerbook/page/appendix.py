"""The generated tables of the appendices: notation, data tables, sources."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlsplit

from augerbook.checks import published_checks
from augerbook.core.network import Network
from augerbook.core.quantity import Quantity
from augerbook.core.units import number, plain_unit
from augerbook.head import part_titles
from augerbook.page.chapter import Markdown
from augerbook.tables import read_table, references


def notation_table(network: Network) -> Markdown:
    """Return all quantities, by symbol, with unit, meaning, chapter and where each is computed."""
    lines = ["| symbol | meaning | unit | name in build files | chapter | from |", "|---|---|---|---|---|---|"]
    for quantity in sorted(network.quantities.values(), key=lambda q: (q.plain_notation.lower(), q.key)):
        node = network.producer.get(quantity)
        origin = f"`{node.id}`" if node else f"given: {part_titles()[quantity.part].lower()}"
        lines.append(
            f"| ${quantity.latex_notation}$ | {quantity.meaning} | {plain_unit(quantity.unit)} | `{quantity.key}` "
            f"| {quantity.owner} | {origin} |"
        )
    return Markdown("\n".join(lines))


def build_keys(network: Network) -> Markdown:
    """Return everything a build file may contain, section by section."""
    lines = []
    for part, words in part_titles().items():
        items = [item for item in network.declared.values() if item.part == part]
        if not items:
            continue
        lines += [f"\n**`[{part}]`** {words}\n"]
        for item in items:
            extra = ""
            if isinstance(item, Quantity):
                extra = f", {item.low:g} to {item.high:g} {plain_unit(item.unit)}".rstrip()
            lines.append(f"- `{item.key}`: {item.meaning}{extra}")
    return Markdown("\n".join(lines))


def data_table(name: str) -> Markdown:
    """Return a table of the data as it is in the file, with the provenance of each row."""
    table = read_table(name)
    heads = [f"{column.name.replace('_', ' ')}{_unit(column.unit)}" for column in table.columns]
    lines = [f"| {' | '.join(heads)} |", "|" + "---|" * len(heads)]
    for row in table.rows.values():
        lines.append(f"| {' | '.join(row.text(column.name) for column in table.columns)} |")
    return Markdown("\n".join(lines))


def _unit(unit: str | None) -> str:
    shown = plain_unit(unit) if unit else ""
    return f" ({shown})" if shown else ""


def reference_list() -> Markdown:
    """Return all works that the handbook cites."""
    lines = ["| key | work | kind | read it at | note |", "|---|---|---|---|---|"]
    known: Mapping[str, object] = references()
    for key in sorted(known):
        work = references()[key]
        read = f"[{urlsplit(work.address).hostname}]({work.address})" if work.address else ""
        lines.append(f"| `{key}` | {work.cite()} | {work.kind} | {read} | {work.note} |")
    return Markdown("\n".join(lines))


def check_summary(network: Network) -> Markdown:
    """Run the published checks of all chapters and return how well each is reproduced.

    Raises:
        AssertionError: a published figure is not reproduced.
    """
    lines = ["| chapter | published example | largest difference | source |", "|---|---|---|---|"]
    for subject in network.subjects:
        for check in published_checks(subject.name):
            outcomes = check.run(network)
            if not all(outcome.agrees for outcome in outcomes):
                raise AssertionError(f"{subject.name}: {check.what} is not reproduced")
            worst = 100 * max(outcome.difference for outcome in outcomes)
            shown = "below 0.01 %" if worst < 0.01 else f"{number(worst, 2)} %"
            lines.append(f"| {subject.name} | {check.what} | {shown} | {check.provenance()} |")
    return Markdown("\n".join(lines))
