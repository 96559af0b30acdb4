"""The screw in its bore: angles, sections, volumes per turn and clearances of a sharp V flight.

The axial section of the flight is a trapezium: crest width ``c`` at the tip, flanks that open by the half-angle
towards the core. It does not fill the bore: the ring between tip and wall is part of every volume here.
"""

from __future__ import annotations

from sympy import atan, pi, sqrt, tan

from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import sieve_mesh
from augerbook.head.screw import core_diameter, crest_width, flank_half_angle, flighted_length, major_diameter, pitch
from augerbook.head.tube import bore_diameter

SUBJECT = Subject(
    "screw",
    number=3,
    title="The screw in its bore",
    question="How much can a turn of this screw move, and what fits past it?",
)
_HERE = Source("derived here")


root_width = SUBJECT.result("root_width", "b", "mm", "width of the flight at the core", positive=True)

_STRAIGHT = "the flight's axial section is a trapezium with straight flanks"
_FLANKS_MEET = (
    root_width < pitch,
    "the flanks of neighbouring turns meet above the core, so that the flight is shallower than assumed: "
    "enlarge the pitch or lower the flank angle",
)

flight_depth = SUBJECT.equals(
    "flight_depth",
    "h",
    "mm",
    "depth of the flight",
    (major_diameter - core_diameter) / 2,
    "The depth of the flight",
    positive=True,
    source=Source("definition"),
)
tip_gap = SUBJECT.equals(
    "tip_gap",
    "s",
    "mm",
    "gap between tip and wall, screw centred",
    (bore_diameter - major_diameter) / 2,
    "The gap over the tip",
    source=Source("definition"),
)
core_gap = SUBJECT.equals(
    "core_gap",
    "g",
    "mm",
    "gap between core and wall, screw centred",
    (bore_diameter - core_diameter) / 2,
    "The gap over the core: the nominal largest grain",
    source=Source("definition"),
)
room_leaning = SUBJECT.equals(
    "room_leaning",
    "g_lean",
    "mm",
    "gap between core and wall on the open side, screw leaning on the wall",
    core_gap + tip_gap,
    "The gap over the core when the screw leans on the far wall",
    source=_HERE,
    assumptions=("the screw lies against the wall over its whole length",),
)
SUBJECT.relation(
    "root_width", root_width, crest_width + 2 * flight_depth * tan(flank_half_angle), "The width of the flight's root",
    source=_HERE, assumptions=(_STRAIGHT,),
)  # fmt: skip
floor_width = SUBJECT.equals(
    "floor_width",
    "f",
    "mm",
    "bare core between two flights",
    pitch - root_width,
    "The bare core between two flights",
    source=Source("definition"),
    assumptions=(_STRAIGHT,),
    valid=(_FLANKS_MEET,),
)
helix_angle_tip = SUBJECT.equals(
    "helix_angle_tip",
    "theta_tip",
    "deg",
    "helix angle at the tip",
    atan(pitch / (pi * major_diameter)),
    "The helix angle at the tip",
    positive=True,
    source=_HERE,
)
helix_angle_mean = SUBJECT.equals(
    "helix_angle_mean",
    "theta",
    "deg",
    "helix angle at half depth of the flight",
    atan(2 * pitch / (pi * (major_diameter + core_diameter))),
    "The helix angle at half depth of the flight",
    positive=True,
    source=_HERE,
)
helix_angle_core = SUBJECT.equals(
    "helix_angle_core",
    "theta_core",
    "deg",
    "helix angle at the core",
    atan(pitch / (pi * core_diameter)),
    "The helix angle at the core",
    positive=True,
    source=_HERE,
)
turn_length = SUBJECT.equals(
    "turn_length",
    "l_turn",
    "mm",
    "length of the tip's helix over one turn",
    sqrt((pi * major_diameter) ** 2 + pitch**2),
    "The developed length of one turn",
    positive=True,
    source=_HERE,
)
helix_length = SUBJECT.equals(
    "helix_length",
    "l_helix",
    "mm",
    "length of the tip's helix in the tube",
    turn_length * flighted_length / pitch,
    "The developed length of all turns",
    positive=True,
    source=_HERE,
)
flight_section = SUBJECT.equals(
    "flight_section",
    "A_f",
    "mm**2",
    "axial section of the flight",
    flight_depth * (crest_width + root_width) / 2,
    "The flight's axial section",
    positive=True,
    source=_HERE,
    assumptions=(_STRAIGHT,),
)
flight_centroid = SUBJECT.equals(
    "flight_centroid",
    "r_f",
    "mm",
    "distance of that section's centroid from the axis",
    core_diameter / 2 + flight_depth * (root_width + 2 * crest_width) / (3 * (root_width + crest_width)),
    "The centroid of the flight's section",
    positive=True,
    source=_HERE,
    assumptions=(_STRAIGHT,),
)
flight_volume = SUBJECT.equals(
    "flight_volume",
    "V_f",
    "mm**3",
    "volume of the flight over one turn",
    2 * pi * flight_centroid * flight_section,
    "The flight's volume over one turn, after Pappus",
    positive=True,
    source=Source("pappus", "second theorem: volumes"),
    assumptions=(_STRAIGHT,),
    valid=(_FLANKS_MEET,),
)
channel_volume = SUBJECT.equals(
    "channel_volume",
    "V_ch",
    "mm**3",
    "room between the flights over one turn, up to the tip",
    pi * (major_diameter**2 - core_diameter**2) / 4 * pitch - flight_volume,
    "The room between the flights",
    source=_HERE,
    valid=(_FLANKS_MEET,),
)
ring_volume = SUBJECT.equals(
    "ring_volume",
    "V_ring",
    "mm**3",
    "room between tip and wall over one turn",
    pi * (bore_diameter**2 - major_diameter**2) / 4 * pitch,
    "The room between tip and wall",
    source=_HERE,
)
net_volume = SUBJECT.equals(
    "net_volume",
    "V_net",
    "mm**3",
    "all room in the bore over one turn",
    channel_volume + ring_volume,
    "All room in the bore over one turn",
    source=_HERE,
    title="room per turn",
)
share_outside = SUBJECT.equals(
    "share_outside",
    "x_ring",
    "percent",
    "share of the room that lies outside the flights",
    ring_volume / net_volume,
    "The share of the room outside the flights",
    source=Source("definition"),
    title="share of the room outside the flights",
)
room_over_mesh = SUBJECT.equals(
    "room_over_mesh",
    "g_m",
    "1",
    "room on the open side of a leaning screw over the sieve mesh",
    room_leaning / sieve_mesh,
    "Room for a grain as large as the mesh",
    source=Source("definition"),
)
