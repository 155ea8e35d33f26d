"""Line drawings of checks: which check shows which, and what it says to who cannot see it.

A drawing is an SVG of 320 by 200 in the pens of pieces.css, so that it follows light, dark and paper.
"""

from collections.abc import Mapping

SHAFT_PIN = ("shaft-pin", "A driveshaft pin centred, its grub screw tight; one that walks out and scrapes")
PLASTIC_THREAD = (
    "plastic-thread",
    "A screw into plastic: turned back until it drops into its thread, then in until its head is level",
)
DIFF_FILL = (
    "diff-fill",
    "A diff cut open: oil just over the gears, gasket under the lid, O-ring at the shaft",
)
DRAWN: Mapping[str, tuple[str, str]] = {
    "wheel_nuts": (
        "wheel-nut",
        "A paint mark across wheel nut and hex: whole, or broken where it moved",
    ),
    "wheel_rock": ("wheel-rock", "Rocking a wheel: which part moves against which"),
    "arm_fall": ("arm-drop", "A suspension arm with its shock off drops by its own weight"),
    "mesh_feel": ("mesh-paper", "Teeth too tight, right and too loose, with a strip of paper between"),
    "mesh_feel_open": ("mesh-paper", "Teeth too tight, right and too loose, with a strip of paper between"),
    "pack_look": ("pack-flat", "A straight edge on the pack: no light under it, or light at both ends"),
    "steering_sweep": ("servo-end", "Servo horn square at neutral, and the two end points"),
    "pinion_screw": ("set-screw", "The set screw sits on the flat of the shaft, not on its edge"),
    "pinion_screw_open": ("set-screw", "The set screw sits on the flat of the shaft, not on its edge"),
    "cups_twist": ("set-screw", "The set screw sits on the flat of the shaft, not on its edge"),
    "shocks_look": ("shock-ring", "An oil ring on the shock shaft"),
    "hexes_bare": ("hex-pin", "A pin snug in the slot of a sharp hex; a slot opened up on a rounded one"),
    "shaft_pins": SHAFT_PIN,
    "joint_screws": SHAFT_PIN,
    "tyre_beads": ("tyre-bead", "A tyre bead shut on its rim; one that gapes when the sidewall is pushed"),
    "chassis_heads": PLASTIC_THREAD,
    "suspension_heads": PLASTIC_THREAD,
    "diff_service": DIFF_FILL,
    "diff_service_belt": DIFF_FILL,
    "slipper_set": (
        "slipper",
        "Slipper nut: clockwise is tighter. With both wheels held the spur slips stiffly",
    ),
    "receiver_plugs": (
        "receiver-box",
        "A receiver box: seal all round, wires in their notches, antenna tube",
    ),
}

# The kinds of car to start from, the commonest first, and the picture of each.
KINDS: Mapping[str, str] = {
    "truck": "truck",
    "beginner": "short-course",
    "buggy": "buggy",
    "crawler": "crawler",
    "on-road": "on-road",
    "drift": "drift",
    "buggy 1/8": "buggy-8",
    "monster": "monster",
    "mini": "mini",
    "large": "large",
}


def kind_drawing(starter: str, kind: str) -> str:
    """The picture of a starter build: that of its kind of car; short-course trucks have one of their own."""
    return "short-course" if starter.startswith("short-course") else KINDS.get(kind, "truck")
