"""Ringing: how head, carriage and frame swing after a corner, and what of it a printed wall shows.

The head slides on the spring of belt and frame and tilts on the spring of its bearings. Both together make two ways of
ringing. What matters on the wall is the nozzle, which hangs below the rail while motor and hopper stand above it.
"""

from __future__ import annotations

from sympy import Abs, Or, Piecewise, Rational, cos, exp, log, oo, pi, sqrt

from augerbook.chapters.plate import head_stiffness, plate_mass
from augerbook.chapters.ringing import decay
from augerbook.chapters.ringing.decay import decrement_of_crests, fitted_decay, telling_record
from augerbook.chapters.ripple import line_speed
from augerbook.chapters.screw import net_volume
from augerbook.chapters.thrust import bore_section
from augerbook.core.extremes import largest, smallest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.carriage import (
    RECORD,
    WALL,
    carriage_mass,
    decay_record,
    hopper_height,
    motor_height,
    plate_height,
    rail_height,
    ringing_from,
    slide_stiffness,
    test_speed,
    test_wavelength,
    test_waves_to_half,
    tilt_stiffness,
    visible_wave,
)
from augerbook.head.drive import gear_mass, motor_mass
from augerbook.head.feedstock import loose_density
from augerbook.head.heating import heated_length
from augerbook.head.hopper import fill_height, hopper_diameter
from augerbook.head.printing import line_width, print_acceleration
from augerbook.head.screw import flighted_length, major_diameter, pitch, screw_density, shank_length
from augerbook.head.tube import bore_diameter, tube_density, tube_length, tube_outside_diameter

SUBJECT = Subject(
    "ringing",
    number=17,
    title="Ringing of the head on its carriage",
    question="How large are the waves that a heavy, tall head leaves on the wall after a corner, and how much "
    "acceleration may the machine be given?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_THOMSON = "thomson"

#: How closely a record should tell the damping, as a share of it.
TOLD_TO = Rational(str(decay.TOLD_TO))
#: So many standard deviations tell a damping from none.
SURELY = 2

_SMALL = "swings are small: springs give in proportion, and nothing rattles in its play"
_POINTS = "each part counts as a point in its own middle: that leaves out about a tenth of the inertia"
_AT_RAIL = "everything that is not listed sits at the height of the rail, also block, fan and the empty hopper"
_TWO = "the belt pulls at the height of the rail, and the head itself is stiff"
_ALIKE = "damping is weak and changes neither frequency nor ways of ringing"
_STAMP = "a line covers what a round stamp as wide as the line would"
_AT_REST = (
    "a single stop, before which the head no longer swings: on a short line speeding up and stopping may make twice as "
    "much"
)
_BULGE = "the bulge next to the corner is left out: it may be as high as the jump of speed moves the nozzle"

granule_mass = SUBJECT.equals(
    "granule_mass",
    "m_g",
    "g",
    "mass of the granules in the hopper",
    loose_density * pi * hopper_diameter**2 / 4 * fill_height,
    "A full cylinder of granules",
    positive=True,
    source=_HERE,
    assumptions=("the cone below the hopper counts as a cylinder, on the heavy side",),
)
tube_mass = SUBJECT.equals(
    "tube_mass",
    "m_t",
    "g",
    "mass of the tube",
    tube_density * pi * (tube_outside_diameter**2 - bore_diameter**2) / 4 * tube_length,
    "Density times volume",
    positive=True,
    source=_DEFINITION,
)
screw_mass = SUBJECT.equals(
    "screw_mass",
    "m_s",
    "g",
    "mass of the screw",
    screw_density * ((bore_section - net_volume / pitch) * flighted_length + pi * major_diameter**2 / 4 * shank_length),
    "What the screw takes of the bore, and its shank",
    positive=True,
    source=_HERE,
    assumptions=("the shank is as thick as the thread",),
)
head_mass = SUBJECT.equals(
    "head_mass",
    "m",
    "g",
    "mass of all that moves with the carriage",
    motor_mass + gear_mass + plate_mass + granule_mass + tube_mass + screw_mass + carriage_mass,
    "The sum of the parts",
    positive=True,
    source=_DEFINITION,
)
_motor, _plate, _grains = motor_height - rail_height, plate_height - rail_height, hopper_height - rail_height
_tube = heated_length + tube_length / 2 - rail_height
_screw = heated_length + (flighted_length + shank_length) / 2 - rail_height
_standing = (
    (motor_mass + gear_mass, _motor),
    (plate_mass, _plate),
    (granule_mass, _grains),
    (tube_mass, _tube),
    (screw_mass, _screw),
)
_STACK = "tube and screw begin where the heated block ends"
centre_height = SUBJECT.equals(
    "centre_height",
    "h",
    "mm",
    "height of the centre of mass above the rail; below zero it hangs",
    sum(mass * height for mass, height in _standing) / head_mass,
    "Each mass times its height, over all mass",
    source=_DEFINITION,
    assumptions=(_AT_RAIL, _STACK),
)
rail_inertia = SUBJECT.result(
    "rail_inertia", "J", "g*m**2", "moment of inertia of the head about the rail", nonnegative=True
)
SUBJECT.relation(
    "rail_inertia", rail_inertia, sum(mass * height**2 for mass, height in _standing),
    "Each mass times its height squared", source=_DEFINITION, assumptions=(_AT_RAIL, _STACK, _POINTS),
    valid=((
        rail_inertia > 0,
        "motor, plate, granules, tube and screw all sit at the height of the rail, so that no mass resists tilting: "
        "measure the heights of motor, plate and hopper above the tip",
    ),),
)  # fmt: skip
slide_frequency = SUBJECT.equals(
    "slide_frequency",
    "f_x",
    "Hz",
    "frequency at which the head would slide if it could not tilt",
    sqrt(slide_stiffness / head_mass) / (2 * pi),
    "A mass on a spring",
    positive=True,
    source=_HERE,
    assumptions=(_SMALL, _ALIKE),
)
tilt_frequency = SUBJECT.equals(
    "tilt_frequency",
    "f_phi",
    "Hz",
    "frequency at which the head would tilt if it could not slide",
    sqrt(tilt_stiffness / rail_inertia) / (2 * pi),
    "An inertia on a spring that resists tilting",
    positive=True,
    source=_HERE,
    assumptions=(_SMALL, _ALIKE, "its weight, which helps a tilted head to tilt, is nothing beside the spring"),
)
tilt_coupling = SUBJECT.equals(
    "tilt_coupling",
    "c",
    "1",
    "how strongly sliding and tilting shake each other: 0 with the centre of mass at the rail, below 1 always",
    head_mass * centre_height**2 / rail_inertia,
    "The first moment squared over mass and inertia",
    nonnegative=True,
    source=_HERE,
    assumptions=(_TWO,),
)
_fx2, _fphi2 = slide_frequency**2, tilt_frequency**2
_apart = sqrt((_fx2 - _fphi2) ** 2 + 4 * tilt_coupling * _fx2 * _fphi2)
lower_frequency = SUBJECT.equals(
    "lower_frequency",
    "f_1",
    "Hz",
    "lower frequency of the head that slides and tilts",
    slide_frequency * tilt_frequency * sqrt(2 / (_fx2 + _fphi2 + _apart)),
    "The slower of the two ways of ringing",
    positive=True,
    source=_HERE,
    assumptions=(_SMALL, _ALIKE, _TWO),
    title="ringing frequency, lower",
)
upper_frequency = SUBJECT.equals(
    "upper_frequency",
    "f_2",
    "Hz",
    "upper frequency of the head that slides and tilts",
    slide_frequency * tilt_frequency / (sqrt(1 - tilt_coupling) * lower_frequency),
    "The faster of the two ways of ringing",
    positive=True,
    source=_HERE,
    assumptions=(_SMALL, _ALIKE, _TWO),
    title="ringing frequency, upper",
)
dunkerley_frequency = SUBJECT.equals(
    "dunkerley_frequency",
    "f_D",
    "Hz",
    "frequency that the lower one never falls below, after Dunkerley",
    1 / sqrt(1 / _fx2 + 1 / _fphi2),
    "The squares of the periods added up",
    positive=True,
    source=Source(_THOMSON, "section 12.2, Dunkerley's equation"),
    assumptions=(_SMALL, _TWO),
)
nozzle_share = SUBJECT.equals(
    "nozzle_share",
    "N_1",
    "1",
    "share of the lower way of ringing in what the nozzle does; the upper one has the rest to one",
    (_fphi2 - rail_height * head_mass * centre_height / rail_inertia * _fx2 - (1 - tilt_coupling) * lower_frequency**2)
    / ((1 - tilt_coupling) * (upper_frequency**2 - lower_frequency**2)),
    "How the push of an acceleration parts between both ways of ringing, seen at the nozzle",
    source=_HERE,
    assumptions=(_SMALL, _ALIKE, _TWO),
)
nozzle_give = SUBJECT.equals(
    "nozzle_give",
    "g_n",
    "um*s**2/m",
    "how far both ways of ringing move the nozzle at most for an acceleration, resting",
    (Abs(nozzle_share) / lower_frequency**2 + Abs(1 - nozzle_share) / upper_frequency**2) / (4 * pi**2),
    "Acceleration over the square of the angular frequency, both ways of ringing added up",
    positive=True,
    source=_HERE,
    assumptions=("both ways of ringing pull the same way at some time: an upper bound",),
)
nozzle_sway = SUBJECT.equals(
    "nozzle_sway",
    "y_n",
    "ms",
    "how far both ways of ringing move the nozzle at most for a jump of speed",
    (Abs(nozzle_share) / lower_frequency + Abs(1 - nozzle_share) / upper_frequency) / (2 * pi),
    "Speed over the angular frequency, both ways of ringing added up",
    positive=True,
    source=_HERE,
    assumptions=("both ways of ringing pull the same way at some time: an upper bound",),
)

recorded_frequency = SUBJECT.result(
    "recorded_frequency", "f_rec", "Hz", "frequency of the recorded ringing", digits=4, positive=True
)
recorded_damping = SUBJECT.result("recorded_damping", "zeta_rec", "1", "damping ratio of the recorded ringing")
recorded_frequency_error = SUBJECT.result(
    "recorded_frequency_error", "s_f", "Hz", "standard deviation of the recorded frequency", digits=2, nonnegative=True
)
recorded_damping_error = SUBJECT.result(
    "recorded_damping_error", "s_zeta", "1", "standard deviation of the recorded damping ratio", digits=2,
    nonnegative=True,
)  # fmt: skip
signal_over_noise = SUBJECT.result(
    "signal_over_noise", "R_s", "1", "first crest of the record over its noise", digits=2, positive=True
)
record_waves = SUBJECT.result("record_waves", "n_rec", "1", "waves in the record", digits=2, positive=True)
samples_per_wave = SUBJECT.result("samples_per_wave", "n_s", "1", "readings in each wave", digits=2, positive=True)
longest_step = SUBJECT.result(
    "longest_step", "x_step", "1", "longest step between readings over the usual one", digits=2, positive=True
)
SUBJECT.model(
    "decay_fit", (decay_record,),
    (
        recorded_frequency, recorded_damping, recorded_frequency_error, recorded_damping_error, signal_over_noise,
        record_waves, samples_per_wave, longest_step,
    ),
    fitted_decay, "A damped sine fitted to all readings by least squares", source=_HERE,
    assumptions=("one way of ringing alone dies away as it should for weak damping in proportion to speed",
                 "noise is alike at all times and from reading to reading independent"),
    valid=(
        (recorded_damping > -SURELY * recorded_damping_error,
         "the record grows instead of dying away: something drives it; switch off and look"),
        (Or(recorded_damping > SURELY * recorded_damping_error, recorded_damping <= -SURELY * recorded_damping_error),
         "the record cannot tell the damping from none at all, nor whether it dies away: push harder, record for "
         "longer if the swing still shows at the end, or average several taps"),
        (record_waves >= Rational(19, 10), "what was fitted is less than two waves long: it may be a drift of the "
         "sensor; begin right after the tap and record for longer"),
        (signal_over_noise >= 8, "the record is noisy, or holds more than one vibration: push harder, fix the sensor "
         "to the head itself, and keep what is left besides the fit in mind"),
        (samples_per_wave >= 4, "there are fewer than four readings in a wave: a faster vibration that is read too "
         "rarely would look the same (aliasing). Read more often, or hold the frequency against the waves on a wall"),
        (longest_step <= 3, "some readings are missing or far apart: they were fitted all the same, but look whether "
         "the sensor dropped some"),
    ),
)  # fmt: skip
told_damping = SUBJECT.equals(
    "told_damping",
    "zeta_told",
    "1",
    "damping ratio of the recorded ringing, where the record tells it from none",
    Piecewise((recorded_damping, recorded_damping > SURELY * recorded_damping_error)),
    "What lies two standard deviations above nothing",
    positive=True,
    source=Source("common practice", "two standard deviations"),
)
telling_waves = SUBJECT.result(
    "telling_waves", "n_tell", "1",
    "waves in which a record tells its damping to a tenth; unlimited where no length is enough", digits=2,
    positive=True,
)  # fmt: skip
push_needed = SUBJECT.result(
    "push_needed", "k_push", "1",
    "how many times harder a push tells the damping to a tenth in a long record; up to 1 it does so already", digits=2,
    positive=True,
)  # fmt: skip
_TOLD = recorded_damping_error <= TOLD_TO * recorded_damping
SUBJECT.model(
    "telling_record", (recorded_damping, recorded_damping_error, record_waves), (telling_waves, push_needed),
    telling_record,
    "More waves add readings and a longer arm, but less and less swing", source=_HERE,
    assumptions=("readings come as often as before, and noise is as large",
                 "many readings in a wave, so that height and decay are told apart from frequency and middle"),
    valid=(
        (Or(_TOLD, push_needed > 1), "the record is too short to tell the damping to a tenth: record more waves"),
        (Or(_TOLD, push_needed <= 1, recorded_damping <= SURELY * recorded_damping_error),
         "the record is too noisy to tell the damping to a tenth, and no longer record tells more, since the vibration "
         "has died away: push as many times harder as the push needed says, or average the square of that many taps"),
    ),
)  # fmt: skip
crest_damping = SUBJECT.result(
    "crest_damping", "zeta_crest", "1", "damping ratio by the crests of the record alone", digits=2
)
SUBJECT.model(
    "crests", (decay_record,), (crest_damping,), decrement_of_crests, "The logarithmic decrement of crest after crest",
    source=Source(_THOMSON, "section 2.7, logarithmic decrement"),
    assumptions=("a crest is the largest reading of its half wave", "crests below a fifth of the first are left out"),
)  # fmt: skip
wall_frequency = SUBJECT.equals(
    "wall_frequency",
    "f_wall",
    "Hz",
    "frequency by the waves on the wall of a test print",
    test_speed / test_wavelength,
    "So many waves pass in a second",
    positive=True,
    source=_DEFINITION,
)
_fall = log(2) / test_waves_to_half
wall_damping = SUBJECT.equals(
    "wall_damping",
    "zeta_wall",
    "1",
    "damping ratio by the waves on the wall of a test print",
    _fall / sqrt(4 * pi**2 + _fall**2),
    "The logarithmic decrement, from the waves until half is left",
    positive=True,
    source=Source(_THOMSON, "section 2.7, logarithmic decrement"),
    assumptions=("the wall shows the swing of the nozzle as it is",),
)
measured_frequency = SUBJECT.result(
    "measured_frequency", "f_mes", "Hz", "measured frequency of the ringing", positive=True
)
damping_ratio = SUBJECT.result(
    "damping_ratio", "zeta", "1", "damping ratio of the ringing: damping over what would just stop all swinging",
    positive=True,
)  # fmt: skip
SUBJECT.select(
    "measured_frequency", measured_frequency, ringing_from, {RECORD: recorded_frequency, WALL: wall_frequency},
    "The frequency by record or wall",
)  # fmt: skip
SUBJECT.select(
    "damping_ratio", damping_ratio, ringing_from, {RECORD: told_damping, WALL: wall_damping},
    "The damping by record or wall",
)  # fmt: skip
frequency_ratio = SUBJECT.equals(
    "frequency_ratio",
    "x_f",
    "1",
    "measured frequency over the one that masses and springs give",
    measured_frequency / lower_frequency,
    "Measured over computed",
    positive=True,
    source=_DEFINITION,
    valid=(
        (
            Rational(4, 5) * lower_frequency <= measured_frequency,
            "the ringing measured is much slower than masses and springs give: weigh again, pull again, or look for "
            "what is loose; the table, the feet and the frame swing as well",
        ),
        (
            measured_frequency <= Rational(5, 4) * lower_frequency,
            "the ringing measured is much faster than masses and springs give: weigh and pull again, or the record "
            "shows something else, such as a fan",
        ),
    ),
)
log_decrement = SUBJECT.equals(
    "log_decrement",
    "Lambda",
    "1",
    "logarithmic decrement: logarithm of a crest over the next",
    2 * pi * damping_ratio / sqrt(1 - damping_ratio**2),
    "What a wave loses",
    positive=True,
    source=Source(_THOMSON, "equation 2.7-3"),
)
waves_to_half = SUBJECT.equals(
    "waves_to_half",
    "n_half",
    "1",
    "waves until half of the height is left",
    log(2) / log_decrement,
    "As many decrements as make one half",
    digits=2,
    positive=True,
    source=_HERE,
)
overshoot = SUBJECT.equals(
    "overshoot",
    "x_over",
    "percent",
    "how far the head swings beyond its new place of rest, over the way to it, when an acceleration sets in and stays",
    exp(-pi * damping_ratio / sqrt(1 - damping_ratio**2)),
    "What is left of the swing after half a wave",
    positive=True,
    source=Source("ogata", "maximum overshoot of a second-order system"),
)

ramp_time = SUBJECT.equals(
    "ramp_time",
    "t_a",
    "ms",
    "time in which the head stops from the speed of printing",
    line_speed / print_acceleration,
    "Speed over acceleration",
    source=_DEFINITION,
)
corner_factor = SUBJECT.equals(
    "corner_factor",
    "r_c",
    "1",
    "swing that a stop at a corner leaves, over acceleration by angular frequency squared; two at worst, if undamped",
    sqrt(
        1
        - 2
        * exp(-2 * pi * damping_ratio * lower_frequency * ramp_time)
        * cos(2 * pi * sqrt(1 - damping_ratio**2) * lower_frequency * ramp_time)
        + exp(-4 * pi * damping_ratio * lower_frequency * ramp_time)
    )
    / sqrt(1 - damping_ratio**2),
    "Two swings against each other, begun as far apart as the stop lasts",
    nonnegative=True,
    source=Source(_THOMSON, "section 4.5, rectangular pulse; damping added here"),
    assumptions=("the acceleration is switched on and off at once", "the slower way of ringing alone", _AT_REST),
)
wall_wave = SUBJECT.equals(
    "wall_wave",
    "lambda",
    "mm",
    "length of the waves on the wall",
    line_speed / lower_frequency,
    "The way of the nozzle during a wave",
    source=_DEFINITION,
)
half_length = SUBJECT.equals(
    "half_length",
    "l_half",
    "mm",
    "way along the wall until the waves are half as high",
    waves_to_half * wall_wave,
    "So many waves one after the other",
    source=_DEFINITION,
)
acceleration_wave = SUBJECT.equals(
    "acceleration_wave",
    "x_a",
    "mm",
    "most that the acceleration can make of a wave, from valley to crest",
    4 * print_acceleration * nozzle_give,
    "Twice the resting place, to both sides",
    positive=True,
    source=_HERE,
    assumptions=("the stop lasts just as long as makes it worst, and damping takes off nothing", _AT_REST),
)
speed_wave = SUBJECT.equals(
    "speed_wave",
    "x_v",
    "mm",
    "most that the speed can make of a wave at a square corner, from valley to crest",
    2 * line_speed * nozzle_sway,
    "A jump of speed, to both sides",
    source=_HERE,
    assumptions=("one direction stops from the full speed, and damping takes off nothing", _AT_REST),
)
filled_wave = SUBJECT.equals(
    "filled_wave",
    "x_l",
    "mm",
    "most that the line can show of a wave, since it fills its valleys; unlimited for waves longer than it is wide",
    Piecewise(((line_width - sqrt(line_width**2 - wall_wave**2)) / 2, wall_wave < line_width), (oo, True)),
    "Two round stamps side by side, a wave apart",
    source=_HERE,
    assumptions=(_STAMP, "the slower way of ringing makes the wave", _BULGE),
)
wave_height = SUBJECT.equals(
    "wave_height",
    "x_wave",
    "mm",
    "most that a wave on the wall can show, from valley to crest",
    smallest(acceleration_wave, speed_wave, filled_wave),
    "The least of three bounds",
    source=_HERE,
)
visible_share = SUBJECT.equals(
    "visible_share",
    "x_ring",
    "1",
    "wave on the wall over what may just be seen",
    wave_height / visible_wave,
    "Wave against eye",
    source=_DEFINITION,
    title="wave on the wall over what may be seen",
    nonnegative=True,
)
highest_acceleration = SUBJECT.equals(
    "highest_acceleration",
    "a_max",
    "mm/s**2",
    "acceleration up to which no stop leaves a visible wave, at any speed",
    visible_wave / (4 * nozzle_give),
    "The acceleration's own wave, just visible",
    positive=True,
    source=_HERE,
    assumptions=(_AT_REST,),
)
acceleration_share = SUBJECT.equals(
    "acceleration_share",
    "x_acc",
    "1",
    "acceleration of printing over that which is safe at any speed",
    print_acceleration / highest_acceleration,
    "Given over safe",
    positive=True,
    source=_DEFINITION,
)
quiet_speed = SUBJECT.equals(
    "quiet_speed",
    "v_quiet",
    "mm/s",
    "speed of printing up to which no train of waves may be seen, whatever the acceleration",
    largest(
        visible_wave / (2 * nozzle_sway),
        2 * lower_frequency * sqrt(visible_wave * largest(0, line_width - visible_wave)),
    ),
    "The jump's own wave, or the one that the line fills, just visible",
    positive=True,
    source=_HERE,
    assumptions=(_STAMP, _BULGE),
)
plate_mass_share = SUBJECT.equals(
    "plate_mass_share",
    "x_m",
    "percent",
    "share of the plate in the mass that moves",
    plate_mass / head_mass,
    "The plate's part",
    positive=True,
    source=_DEFINITION,
)
axial_frequency = SUBJECT.equals(
    "axial_frequency",
    "f_ax",
    "Hz",
    "frequency at which motor, gear, plate and screw bounce along the screw on the head's own springs",
    sqrt(head_stiffness / (motor_mass + gear_mass + plate_mass + screw_mass)) / (2 * pi),
    "A mass on a spring, along the screw",
    positive=True,
    source=_HERE,
    assumptions=("all of that mass rides on all of the springs: the lowest that it can be",),
)

SUBJECT.margin(
    "visible_share",
    visible_share,
    good=0.7,
    limit=1.0,
    why="waves behind a corner catch the light and the finger, and lie one above the other through all layers",
    advice="print more slowly, or lower the acceleration as far as the one that is safe at any speed, since less may "
    "change nothing; hold the carriage stiffer along its rail; take mass off it; carry the hopper beside the machine",
    source=Source(
        "judgement", "the eye finds a hundredth of a millimetre on a glossy wall, and far less on a rough one"
    ),
)
