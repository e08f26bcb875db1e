"""What cuts do to valves, springs, pushrods and lifters.

None of it takes the place of clay and checking springs on the engine itself.
"""

from math import cos, radians

COIL_BIND_MARGIN_MM = 1.524
"""Least room between coils at full lift, .060 in, the wider of two (common practice) [mm]."""
RADIAL_MM = 1.27
"""Least room between a valve's edge and its pocket, .050 in (trade press) [mm]."""
ALUMINIUM_ROD_EXTRA_MM = 0.762
"""More between valve and piston with aluminium rods, .030 in (from memory; trade press says
more and prints no figure) [mm]."""
RETAINER_TO_SEAL_MM = 1.524
"""Least room between retainer and stem seal, .060 in, the wider of two (common practice) [mm]."""
INSTALLED_HEIGHT_TOLERANCE_MM = 0.508
"""Of a valve spring, to either side, .020 in (trade article on springs) [mm]."""
PRELOAD_WINDOW_MM = (0.508, 1.524)
"""Of a hydraulic lifter, .020 to .060 in (trade press, June 2011) [mm]."""
LIFTER_TURNS = (0.5, 1.0)
"""Of the adjuster past zero lash (common practice) [-]."""


def valve_room_lost_mm(head_move_mm: float, valve_tilt_deg: float = 0.0) -> float:
    """Return the room between valve and piston that a head's move takes, square to the valve.

    `valve_tilt_deg` is the valve from the cylinder's axis. Along that axis it is the whole
    move; judge by that, it is the greater. [mm]
    """
    return head_move_mm * cos(radians(valve_tilt_deg))


def coil_bind_margin_mm(installed_mm: float, lift_mm: float, bind_mm: float) -> float:
    """Return what is left between a spring's coils at full lift [mm]."""
    return installed_mm - lift_mm - bind_mm


def pushrod_change_mm(
    head_move_mm: float,
    pushrod_tilt_deg: float = 0.0,
    *,
    tip_rise_mm: float = 0.0,
    rocker_ratio: float = 1.0,
) -> float:
    """Return how much longer pushrods have to be for the lifter to sit as before [mm].

    On a pivot that stays, a valve tip that rises tips the rocker, whose other end comes down
    on the pushrod by so much less as the ratio says.
    """
    return -head_move_mm * cos(radians(pushrod_tilt_deg)) - tip_rise_mm / rocker_ratio


def lifter_preload_mm(
    before_mm: float, head_move_mm: float, pushrod_tilt_deg: float = 0.0
) -> float:
    """Return the preload of a lifter whose rocker does not adjust, on the old pushrod [mm]."""
    return before_mm + head_move_mm * cos(radians(pushrod_tilt_deg))


def adjuster_travel_mm(pitch_mm: float, rocker_ratio: float) -> float:
    """Return the travel at the pushrod for one turn of a stud nut: pitch (1 + 1/R) [mm]."""
    return pitch_mm * (1.0 + 1.0 / rocker_ratio)
