"""Candidates a second through the network's array function, against a loop over pint quantities.

    python tests/bench/sweep.py

The same closed-form chain both ways, in one run: from bore, diameters, pitch and torque to the room per turn, its
share outside the flights, and the thrust on the bearing. The loop calls each relation with pint quantities, as one
would by hand. Prints candidates a second, their ratio, and the largest memory used.
"""

from __future__ import annotations

import resource
import time

import numpy as np
from augerbook.build import shipped_build
from augerbook.core.relation import Relation
from augerbook.core.units import ureg
from augerbook.subjects.screw import (
    bore_diameter,
    core_diameter,
    major_diameter,
    net_volume,
    pitch,
    share_outside,
)
from augerbook.subjects.thrust import design_thrust, nozzle_pressure, stall_torque

MANY, FEW = 4_000_000, 200
OUTPUTS = [net_volume, share_outside, design_thrust]
VARIED = [bore_diameter, major_diameter, core_diameter, pitch, stall_torque]


def main() -> None:
    """Measure both ways and print the ratio."""
    build = shipped_build("otter")
    network = build.network
    random = np.random.default_rng(1)
    # The pressure at the nozzle comes from numerical models further up: held, it leaves the chain in closed form.
    values = {**build.values, nozzle_pressure: build.solution[nozzle_pressure]}
    base = np.array([values[q] for q in VARIED])
    columns = list((base * random.uniform(0.95, 1.05, (MANY, len(VARIED)))).T)
    sweep = network.compile(OUTPUTS, VARIED, values, build.choices)
    sweep(*(c[:1000] for c in columns))
    start = time.perf_counter()
    results = sweep(*columns)
    many = MANY / (time.perf_counter() - start)

    nodes = network.chain(OUTPUTS, values, build.choices)
    assert all(isinstance(node, Relation) for node in nodes), "the chain is meant to be in closed form"
    start = time.perf_counter()
    for row in range(FEW):
        known = {q.key: ureg.Quantity(q.shown(v), q.unit) for q, v in values.items() if hasattr(q, "unit")}
        known |= {q.key: ureg.Quantity(q.shown(c[row]), q.unit) for q, c in zip(VARIED, columns, strict=True)}
        for node in nodes:
            known[node.outputs[0].key] = node(**{q.key: known[q.key] for q in node.inputs})
        for quantity, column in zip(OUTPUTS, results, strict=True):
            by_hand = known[quantity.key].to_base_units().magnitude
            assert abs(by_hand - column[row]) <= 1e-9 * abs(by_hand), quantity.key
    few = FEW / (time.perf_counter() - start)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(f"array function      {many:12,.0f} candidates/s ({len(nodes)} relations, {MANY:,} candidates)")
    print(f"loop with pint      {few:12,.0f} candidates/s")
    print(f"ratio: {many / few:,.0f}; largest memory {memory:.2f} GiB")


if __name__ == "__main__":
    main()
