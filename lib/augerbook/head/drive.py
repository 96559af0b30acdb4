"""What turns the screw."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.core.quantity import Quantity
from augerbook.head.weighings import weighing_faults

PART = Part("drive", number=5, title="Motor and gear")

running_torque = PART.given("running_torque", "T", "N*m", "torque at the screw while it runs", 0.005, 6, primary=True)
stall_torque = PART.given(
    "stall_torque", "T_stall", "N*m", "torque at the screw when the motor stalls", 0.02, 12, primary=True
)
screw_speed = PART.given("screw_speed", "N", "1/min", "revolutions of the screw in a minute", 0.5, 200, primary=True)
coupling_stiffness = PART.given(
    "coupling_stiffness",
    "k_c",
    "N/um",
    "axial stiffness of what joins screw and bearing: collar, nut, sleeve",
    0.5,
    2000,
)
motor_mass = PART.given("motor_mass", "m_mot", "g", "mass of the motor", 20, 3000)
gear_mass = PART.given("gear_mass", "m_gear", "g", "mass of the gear; zero without one", 0, 3000)
gear_backlash = PART.given(
    "gear_backlash", "beta_g", "deg", "how far the gear's output can be turned while the motor stands still", 0, 20
)
rotor_teeth = PART.given("rotor_teeth", "N_r", "1", "teeth on each half of the motor's rotor", 10, 200)
rated_current = PART.given(
    "rated_current", "I_r", "A", "rated current of a phase, both phases on, as the data sheet prints it", 0.1, 6
)
phase_resistance = PART.given("phase_resistance", "R_20", "ohm", "resistance of a phase, cold (20 °C)", 0.1, 80)
phase_inductance = PART.given("phase_inductance", "L_ph", "mH", "inductance of a phase", 0.1, 80)
holding_torque = PART.given(
    "holding_torque", "T_hold", "N*m", "torque that the motor holds, both phases on at rated current", 0.005, 6
)
motor_side = PART.given("motor_side", "a_mot", "mm", "side of the motor's square case", 15, 90)
motor_length = PART.given("motor_length", "l_mot", "mm", "length of the motor's case", 8, 150)
set_current = PART.given(
    "set_current", "I_set", "A", "amplitude of the sine that the driver sends through a phase", 0.05, 8, primary=True
)
supply_voltage = PART.given("supply_voltage", "V_s", "V", "voltage that the driver is fed with", 5, 60, primary=True)
microsteps = PART.given("microsteps", "m_s", "1", "microsteps into which the driver divides a full step", 1, 256)
gear_ratio = PART.given(
    "gear_ratio", "i_g", "1", "turns of the motor for a turn of the screw; 1 without a gear", 1, 120, primary=True
)
gear_efficiency = PART.given(
    "gear_efficiency", "eta_g", "percent", "work that the gear passes on, of what it gets", 15, 100
)
gear_permissible_torque = PART.given(
    "gear_permissible_torque", "T_perm", "N*m", "torque that the gear's maker permits at its output", 0.05, 60
)
gear_axial_limit = PART.given(
    "gear_axial_limit", "F_ax", "N", "force along its output shaft that the gear's maker permits", 2, 3000
)
gear_radial_limit = PART.given(
    "gear_radial_limit", "F_rad", "N", "force across its output shaft that the gear's maker permits", 2, 3000
)
coupling_push = PART.given(
    "coupling_push", "F_push", "N", "force along the gear's shaft that mounting the coupling leaves there", 0, 200
)
coupling_side_force = PART.given(
    "coupling_side_force", "F_side", "N", "force across the gear's shaft from a coupling out of line", 0, 200
)
setscrew_count = PART.given(
    "setscrew_count",
    "n_ss",
    "1",
    "set screws that hold the coupling on the gear's shaft",
    1,
    6,
    title="number of set screws",
)
setscrew_force = PART.given(
    "setscrew_force",
    "F_ss",
    "N",
    "force at the shaft's surface at which one of these set screws slips",
    50,
    6000,
    title="grip of a set screw",
)
coupled_diameter = PART.given(
    "coupled_diameter", "d_sh", "mm", "diameter of the shaft on which these set screws sit", 2, 20
)
duty_share = PART.given(
    "duty_share",
    "x_D",
    "percent",
    "share of the time in which the motor has its current",
    1,
    100,
    title="time under current",
)
winding_resistance = PART.given(
    "winding_resistance",
    "R_wc",
    "K/W",
    "kelvins between winding and case for each watt in the winding",
    0.1,
    15,
    title="winding heat resistance",
)
motor_film = PART.given(
    "motor_film",
    "h_mot",
    "W/m**2/K",
    "heat from the motor's case to the air, radiation counted in",
    3,
    60,
    title="motor film coefficient",
)
case_gear_resistance = PART.given(
    "case_gear_resistance",
    "R_cg",
    "K/W",
    "kelvins between motor case and gear for each watt that flows",
    0.1,
    50,
    title="case-gear heat resistance",
)
gear_plate_resistance = PART.given(
    "gear_plate_resistance", "R_gp", "K/W", "kelvins between gear and room for each watt, by plate, frame and air",
    0.3, 50, title="gear-room heat resistance",
)  # fmt: skip
commanded_volume = PART.given(
    "commanded_volume", "V_cmd", "mm**3", "solid plastic that a weighed run was asked for", 20, 100_000
)
steps_setting = PART.given(
    "steps_setting", "s_old", "1/mm**3", "microsteps for a volume that the controller was set to for the weighed runs",
    0.5, 20_000, title="steps set for a volume",
)  # fmt: skip
balance_error = PART.given("balance_error", "a_bal", "mg", "most that the balance may be wrong, either way", 0, 5000)
density_error = PART.given(
    "density_error", "e_rho", "percent", "most that the density of the solid may be wrong, either way", 0, 20
)
start_stop_volume = PART.given(
    "start_stop_volume", "V_oz", "mm**3", "most that start and stop may add to a run or take from it", 0, 500
)
BEARING, GEAR = "bearing", "gear"
thrust_taken_by = PART.choice(
    "thrust_taken_by",
    "what takes the screw's thrust",
    {BEARING: "a thrust bearing between gear and screw", GEAR: "the gear's own output bearing"},
)
weighed_runs = PART.series(
    "weighed_runs",
    "weighed runs, all of the same commanded volume: what came out of each",
    (Quantity("run_mass", "m_i", "g", "mass of what came out of a run", low=0, high=1000),),
    check=weighing_faults,
)
motor = PART.lookup(
    "motor",
    "a motor of the tables",
    "motors",
    {
        rotor_teeth: "rotor_teeth",
        rated_current: "rated_current",
        phase_resistance: "phase_resistance",
        phase_inductance: "phase_inductance",
        holding_torque: "holding_torque",
        motor_side: "motor_side",
        motor_length: "motor_length",
        motor_mass: "motor_mass",
    },
)
