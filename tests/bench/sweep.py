"""Candidates a second through the network's array function, against a loop over pint quantities.

    python tests/bench/sweep.py

The same closed-form chain both ways, in one run: from bore, diameters, pitch and torque to the room per turn, its
share outside the flights, the thrust at stall and how fast pressure grows where the ring gives way. The loop calls
each relation with pint quantities, as one would by hand. Prints candidates a second, their ratio, and the largest
memory used.

Then candidate screws through the whole head at work: temperatures along the tube, nozzle, pump, plug and the speed
that joins them, in one array call. Last, torque and speed brought to rest in a thousand heads.
"""

from __future__ import annotations

import sys
import time

import numpy as np
import psutil
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.conveying import ring_exponent
from augerbook.chapters.operating import needed_torque, operating_speed, operating_thrust, push_reserve
from augerbook.chapters.ripple import ripple
from augerbook.chapters.screw import net_volume, share_outside
from augerbook.chapters.thrust import stall_thrust
from augerbook.core.fixed_point import fixed_point
from augerbook.core.relation import Relation
from augerbook.core.units import ureg
from augerbook.head.drive import stall_torque
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import core_diameter, friction_screw, major_diameter, pitch, screw_conductivity
from augerbook.head.tube import bore_diameter
from augerbook.settle import ROUNDS, settle

MANY, FEW = 4_000_000, 200
OUTPUTS = [net_volume, share_outside, stall_thrust, ring_exponent]
VARIED = [bore_diameter, major_diameter, core_diameter, pitch, stall_torque]


SCREWS = 1000
AT_WORK = [operating_speed, needed_torque, operating_thrust, push_reserve, ripple]
OF_A_SCREW = [major_diameter, core_diameter, pitch, screw_conductivity, friction_screw]


def whole_head() -> None:
    """Measure candidate screws through the coupled models."""
    build = shipped_build("otter")
    random = np.random.default_rng(2)
    base = np.array([build.values[q] for q in OF_A_SCREW])
    columns = (base * random.uniform(0.9, 1.1, (SCREWS, len(OF_A_SCREW)))).T
    start = time.perf_counter()
    results = build.network.compile(AT_WORK, OF_A_SCREW, build.values, build.choices)(*columns)
    seconds = time.perf_counter() - start
    defined = int(np.isfinite(results[0]).sum())
    print(
        f"whole head at work  {SCREWS} candidate screws in {seconds:.1f} s, {defined} of them with an operating point"
    )


def at_rest() -> None:
    """Measure torque and speed brought to rest: heads as arrays against one head after the other, in one run."""
    build = shipped_build("otter")
    flows = np.linspace(0.5, 1.5, SCREWS) * build.values[wanted_flow]
    start = time.perf_counter()
    point = fixed_point(build.network, build.values, build.choices, rounds=ROUNDS, vary={wanted_flow: flows})
    together = time.perf_counter() - start
    few = range(0, SCREWS, SCREWS // 20)
    start = time.perf_counter()
    alone = [settle(build.with_value(wanted_flow, float(flows[place]))) for place in few]
    one_by_one = (time.perf_counter() - start) * SCREWS / len(few)
    resting = sum(not one.unrest for one in alone)
    print(
        f"torque at rest      {SCREWS} heads in {together:.1f} s, {int(point.at_rest.sum())} of them at rest; "
        f"one by one {one_by_one:.0f} s ({resting} of {len(few)} at rest): a ratio of {one_by_one / together:.0f}"
    )


def main() -> None:
    """Measure both ways and print the ratio."""
    build = shipped_build("otter")
    network = build.network
    random = np.random.default_rng(1)
    base = np.array([build.values[q] for q in VARIED])
    columns = list((base * random.uniform(0.95, 1.05, (MANY, len(VARIED)))).T)
    sweep = network.compile(OUTPUTS, VARIED, build.values, build.choices)
    sweep(*(c[:1000] for c in columns))
    start = time.perf_counter()
    results = sweep(*columns)
    many = MANY / (time.perf_counter() - start)

    nodes = network.chain(OUTPUTS, build.values, build.choices)
    assert all(isinstance(node, Relation) for node in nodes), "the chain is meant to be in closed form"
    start = time.perf_counter()
    for row in range(FEW):
        known = {q.key: ureg.Quantity(q.shown(v), q.unit) for q, v in build.values.items() if hasattr(q, "unit")}
        known |= {q.key: ureg.Quantity(q.shown(c[row]), q.unit) for q, c in zip(VARIED, columns, strict=True)}
        for node in nodes:
            known[node.outputs[0].key] = node(**{q.key: known[q.key] for q in node.inputs})
        for quantity, column in zip(OUTPUTS, results, strict=True):
            by_hand = known[quantity.key].to_base_units().magnitude
            assert abs(by_hand - column[row]) <= 1e-9 * abs(by_hand), quantity.key
    few = FEW / (time.perf_counter() - start)
    memory = _most_memory() / 1024**3
    print(f"array function      {many:12,.0f} candidates/s ({len(nodes)} relations, {MANY:,} candidates)")
    print(f"loop with pint      {few:12,.0f} candidates/s")
    print(f"ratio: {many / few:,.0f}; largest memory {memory:.2f} GiB")


def _most_memory() -> float:
    """Return the most bytes that this process has had at a time."""
    if sys.platform == "win32":
        return float(psutil.Process().memory_info().peak_wset)
    import resource  # not on Windows

    unit = 1 if sys.platform == "darwin" else 1024
    return float(unit * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


if __name__ == "__main__":
    main()
    whole_head()
    at_rest()
