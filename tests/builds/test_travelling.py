"""Builds, solutions and sweeps handed to other processes: the same numbers come back."""

import multiprocessing
import pickle
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.operating import needed_torque
from augerbook.chapters.screw import net_volume
from augerbook.core.network import Network
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.tables import read_table


def torque_of(build: Build) -> float:
    return build.solution[needed_torque]


@pytest.mark.parametrize("name", shipped_builds())
def test_what_is_pickled_comes_back_as_it_was(name: str) -> None:
    build = shipped_build(name)
    assert build.solution[net_volume] > 0  # compiled functions exist, and stay behind
    again = pickle.loads(pickle.dumps(build))
    assert again.entries == build.entries and again.toml() == build.toml() and again.network is whole_head()
    assert again.values.keys() == build.values.keys() and again.choices == build.choices
    solution = pickle.loads(pickle.dumps(build.solution))
    assert dict(solution.choices) == build.choices
    for quantity in whole_head().quantities.values():
        assert (quantity in solution.values) == (quantity in build.solution.values)
    np.testing.assert_equal(solution[needed_torque], build.solution[needed_torque])
    assert len(pickle.dumps(build)) < 100_000


def test_a_build_that_has_travelled_is_changed_as_any_other() -> None:
    """What it is made of is equal there, and not the same objects."""
    build = shipped_build("otter")
    again = pickle.loads(pickle.dumps(build))
    row = next(iter(read_table(standard_screw.table).rows.values()))
    for one in (build, again):
        taken = one.with_row(standard_screw, row)
        assert standard_screw not in taken.names and taken.has_row(standard_screw, row)
    assert again.with_row(standard_screw, row).toml() == build.with_row(standard_screw, row).toml()


def test_a_sweep_travels() -> None:
    sweep = shipped_build("otter").solution.sweep([net_volume], [bore_diameter])
    bores = np.linspace(0.0075, 0.009, 7)
    np.testing.assert_array_equal(pickle.loads(pickle.dumps(sweep))(bores), sweep(bores))


@pytest.mark.slow
def test_a_pool_of_fresh_processes_finds_the_same_torque() -> None:
    builds = [shipped_build(name) for name in shipped_builds()]
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        assert list(pool.map(torque_of, builds)) == [torque_of(build) for build in builds]


def test_a_network_without_a_home_says_so() -> None:
    with pytest.raises(TypeError, match="say home='module:function'"):
        pickle.dumps(Network([]))
