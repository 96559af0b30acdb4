"""The parts of the head, in the order a builder meets them: the sections of a build file."""

PARTS: dict[str, str] = {
    "feedstock": "Granules",
    "hopper": "Hopper",
    "screw": "Screw",
    "tube": "Tube",
    "drive": "Motor and gear",
    "bearing": "Thrust bearing",
    "plate": "Bearing plate",
    "heating": "Heating and cooling",
    "plastic": "Melt",
    "nozzle": "Nozzle",
    "printing": "Printing",
}
