"""The inputs: ranges typed a second time, tables within them, and nothing that no chapter computes with."""

import csv
from pathlib import Path

import pytest
from augerbook.builds.build import misfits
from augerbook.chapters import whole_head
from augerbook.core.quantity import Lookup
from augerbook.head import all_parts, part_titles
from augerbook.tables import read_table

#: Tables that also serve other ends: a material that is no screw, a sieve for dust that granules never pass.
ELSEWHERE = {"screw_material", "tube_material", "break_material", "plate_material", "standard_sieve"}


def test_ranges_are_those_that_were_typed() -> None:
    with (Path(__file__).parent / "inputs.csv").open(encoding="utf-8", newline="") as file:
        typed = list(csv.reader(file))
    inputs = [[q.key, q.part, f"{q.low:g}", f"{q.high:g}", q.unit] for q in whole_head().inputs]
    assert [["input", "part", "low", "high", "unit"], *inputs] == typed


def test_parts_have_their_places() -> None:
    assert [part.number for part in all_parts()] == list(range(1, len(all_parts()) + 1))
    assert list(part_titles()) == [part.name for part in all_parts()]


def test_every_input_serves_a_chapter() -> None:
    network = whole_head()
    used = {q for subject in network.subjects for q in network.inputs_of(subject)}
    shown = {"bearing_width"}  # a size for pictures alone
    assert {q.key for q in network.inputs} - {q.key for q in used} == shown


@pytest.mark.parametrize("lookup", whole_head().lookups.values(), ids=lambda lookup: lookup.key)
def test_rows_of_a_table_lie_within_the_ranges_of_what_they_fill(lookup: Lookup) -> None:
    outside = {
        name: misfits(lookup, row) for name, row in read_table(lookup.table).rows.items() if misfits(lookup, row)
    }
    if lookup.key not in ELSEWHERE:
        assert outside == {}
    assert len(outside) < len(read_table(lookup.table).rows) / 2
