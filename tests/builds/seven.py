"""A build as a maker begins: seven values and names, and the flow that is wanted."""

#: What a maker knows of otter: seven values and names, and the flow that is wanted.
SEVEN = """\
format = 1
name = "seven"

[feedstock]
plastic = "PLA"
sieve_mesh = "2 mm"

[screw]
standard_screw = "DIN 7998 6"

[tube]
bore_diameter = "8 mm"

[drive]
motor = "42 x 40"

[plate]
plate_thickness = "5 mm"

[nozzle]
nozzle_diameter = "0.6 mm"

[printing]
wanted_flow = "2.5 mm**3/s"
"""
#: Margins that wait for what only weighings, or a study of two builds, can say.
WAIT = {"drive.setting_bounds", "choosing.better_chance"}
