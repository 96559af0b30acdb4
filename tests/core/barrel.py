"""A rain barrel that runs empty: a small network of invented relations for the tests of the core."""

import numpy as np
from augerbook.core.network import Network
from augerbook.core.part import Part
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from sympy import Piecewise, pi, sqrt

BARREL = Part("barrel", number=1, title="The barrel")
TAP = Part("tap", number=2, title="The tap")
SUBJECT = Subject("barrel", number=1, title="The barrel", question="How long does it run?")

width = BARREL.given("width", "w", "mm", "width of the barrel", 100, 1000, primary=True)
height = BARREL.given("height", "H", "mm", "height of the barrel", 200, 2000)
level = BARREL.given("level", "z", "mm", "height of the water", 0, 2000)
tap_bore = TAP.given("tap_bore", "d_tap", "mm", "bore of the tap", 0.2, 100)
water_temperature = BARREL.given("water_temperature", "theta", "degC", "temperature of the water", 0, 60)
shape = BARREL.choice("shape", "shape of the barrel", {"round": "a circle", "square": "a square"})
BARREL.require(level, height, "the barrel would run over")

round_section = SUBJECT.result("round_section", "A_o", "cm**2", "section of a round barrel", positive=True)
square_section = SUBJECT.result("square_section", "A_q", "cm**2", "section of a square barrel", positive=True)
section = SUBJECT.result("section", "A", "cm**2", "section of the barrel", positive=True)
water_volume = SUBJECT.result("water_volume", "V", "dm**3", "water in the barrel")
filling = SUBJECT.result("filling", "x", "percent", "share of the barrel that is full")
jet_speed = SUBJECT.result("jet_speed", "v_jet", "m/s", "speed of the jet from the tap")
flow = SUBJECT.result("flow", "Q", "cm**3/s", "flow from the tap")
emptying_time = SUBJECT.result("emptying_time", "t", "min", "time until the barrel is empty")
mean_flow = SUBJECT.result("mean_flow", "Q_mean", "cm**3/s", "mean flow until the barrel is empty")
thinness = SUBJECT.result("thinness", "eta_rel", "1", "how thin the water is, against 20 degrees")

GRAVITY = 9.81  # in SI: the relations of this toy hide a unit in it, which no real subject may do

SUBJECT.relation(
    "round_section", round_section, pi * width**2 / 4, "The circle", source=Source("definition"),
)  # fmt: skip
SUBJECT.relation("square_section", square_section, width**2, "The square", source=Source("definition"))
SUBJECT.select("section", section, shape, {"round": round_section, "square": square_section}, "The section built")
SUBJECT.relation(
    "water_volume", water_volume, section * level, "A prism of water", source=Source("definition"),
    assumptions=("the walls are upright",),
)  # fmt: skip
SUBJECT.relation("filling", filling, level / height, "How full it is", source=Source("definition"))
SUBJECT.relation(
    "jet_speed", jet_speed, sqrt(2 * GRAVITY * level), "Free fall from the surface", source=Source("derived here"),
    valid=((tap_bore < width / 5, "so wide a tap makes the surface sink as fast as the jet"),),
)  # fmt: skip
SUBJECT.relation("flow", flow, pi * tap_bore**2 / 4 * jet_speed, "Section times speed", source=Source("derived here"))


def run_dry(area: np.ndarray, bore: np.ndarray, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Time and mean flow until the barrel is dry; not defined for an empty one."""
    start = np.where(np.asarray(start) > 0, start, np.nan)
    seconds = area / (np.pi * np.asarray(bore) ** 2 / 4) * np.sqrt(2 * start / GRAVITY)
    return seconds, area * start / seconds


drain = SUBJECT.model(
    "drain", (section, tap_bore, level), (emptying_time, mean_flow), run_dry, "The barrel runs dry",
    source=Source("derived here"), valid=((emptying_time > 0, "there is no water in it"),),
)  # fmt: skip
SUBJECT.relation(
    "thinness", thinness, Piecewise((1, water_temperature < 293.15), (water_temperature / 293.15, True)),
    "Warm water is thinner", source=Source("judgement"),
)  # fmt: skip
SUBJECT.margin(
    "filling", filling, good=80, limit=100, why="it runs over in the next rain", advice="take a higher barrel",
    source=Source("judgement"),
)  # fmt: skip

NETWORK = Network([SUBJECT], [BARREL, TAP])

VALUES = {
    width: 0.5, height: 1.0, level: 0.6, tap_bore: 0.02, water_temperature: 300.0,
}  # fmt: skip
CHOICES = {shape: "round"}
