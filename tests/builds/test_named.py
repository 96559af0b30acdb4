"""A shipped build that was changed does not go on under its name."""

import dataclasses

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.named import is_shipped, named_honestly
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters.screw import net_volume
from augerbook.head.bearing import bearing, bearing_kind
from augerbook.head.feedstock import flake_thickness, sieve_table
from augerbook.head.screw import pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.cite import find_example, worked
from augerbook.page.session import Session

OTTER = shipped_build("otter")


def without_tapped(build: Build) -> Build:
    entries = {q: entry for q, entry in build.entries.items() if q is not flake_thickness}
    return dataclasses.replace(build, entries=entries)


def with_shares_swapped(build: Build) -> Build:
    mesh, share = build.rows[sieve_table]
    swapped = np.array(share)
    swapped[1], swapped[2] = share[2], share[1]
    return build.with_rows(sieve_table, (mesh, swapped))


def with_a_sieve_less(build: Build) -> Build:
    mesh, share = build.rows[sieve_table]
    return build.with_rows(sieve_table, (np.delete(mesh, -2), np.append(share[:-2], share[-2:].sum())))


CHANGES = {
    "a value": OTTER.with_value(bore_diameter, 8.1e-3),
    "a spread": OTTER.with_spread(flake_thickness, 0.8e-3, 1.7e-3),
    "a spread left out": OTTER.with_known(flake_thickness),
    "a name": OTTER.with_name(bearing, "608"),
    "a kind": OTTER.with_choice(
        bearing_kind, next(o for o in bearing_kind.options if o != OTTER.choices[bearing_kind])
    ),
    "a value left out": without_tapped(OTTER),
    "a table": with_shares_swapped(OTTER),
    "a shorter table": with_a_sieve_less(OTTER),
}


@pytest.mark.parametrize("changed", CHANGES.values(), ids=CHANGES)
def test_any_change_is_marked_and_the_mark_stays(changed: Build) -> None:
    marked = named_honestly(changed)
    assert marked.name == "otter, changed" and not is_shipped(marked)
    again = named_honestly(read_build(marked.toml()))
    assert again.name == "otter, changed" and again.toml() == marked.toml()
    assert named_honestly(marked) is marked


@pytest.mark.parametrize("name", shipped_builds())
def test_a_shipped_build_keeps_its_name_and_another_name_is_left_alone(name: str) -> None:
    build = shipped_build(name)
    assert named_honestly(build) is build and is_shipped(build)
    assert named_honestly(build.with_words(note="mine")).name == name
    own = build.with_words(name="shed head").with_value(bore_diameter, 9e-3)
    assert named_honestly(own) is own and not is_shipped(own)


def test_with_all_values_back_it_has_its_name_back() -> None:
    session = Session(OTTER)
    for quantity, shown in ((bore_diameter, 9.0), (pitch, 2.0), (flake_thickness, 1.3)):
        before = float(quantity.shown(session.build.values[quantity]))
        session.set_value(quantity, shown)
        assert session.build.name == session.wanted.name == "otter, changed"
        assert 'name = "otter, changed"' in session.build.toml()
        session.set_value(quantity, before)
        assert session.build.name == "otter", quantity.key
    session.set_name(standard_screw, "M6")
    assert session.build.name == "otter, changed"
    session.load(shipped_build("otter"))
    assert session.build.name == "otter"


def test_a_loaded_post_with_a_shipped_name_and_other_values_is_marked() -> None:
    session = Session(shipped_build("wren"))
    assert session.load_text(OTTER.with_value(bore_diameter, 9e-3).toml())
    assert session.build.name == "otter, changed"


def test_a_worked_example_says_so_and_carries_it() -> None:
    example = worked(net_volume, OTTER.with_value(bore_diameter, 8.5e-3))
    for text in (example.markdown(), example.bbcode(), example.text()):
        assert "otter, changed" in text and read_build(text).name == "otter, changed"
    assert find_example(worked(net_volume, OTTER).id).id == worked(net_volume, OTTER).id


def test_a_table_that_is_typed_again_as_it_was_is_the_same() -> None:
    mesh, share = OTTER.rows[sieve_table]
    assert is_shipped(OTTER.with_rows(sieve_table, (mesh.copy(), share.copy())))
