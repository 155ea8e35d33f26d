"""Ways out: what a person can do next, in words any door can show.

Below the doors nobody knows a command or a button. A way out that takes one names the action; each door keeps
a table that puts the actions into its own words, and a test holds that none is left out.
"""

from __future__ import annotations

from enum import Enum, auto
from typing import Self


class Action(Enum):
    """What a person does next: somewhere to go, or something to add to the question just asked."""

    ADD_CAR = auto()
    ADD_PACK = auto()
    ADD_CHARGER = auto()
    ADD_TO_BOX = auto()
    BACK_UP = auto()
    BRING_BACK = auto()
    CHANGE_BUILD = auto()
    CHANGE_PACK = auto()
    CHANGE_SETTINGS = auto()
    COMPILE_AHEAD = auto()
    CORRECT_RUN = auto()
    FIT_PART = auto()
    LOOK_OVER_PACK = auto()
    MEASURE_PACK = auto()
    REBUILD = auto()
    RESTORE = auto()
    SEE_CHARGERS = auto()
    SEE_JOURNAL = auto()
    SEE_PLACES = auto()
    SEE_SHEET = auto()
    STORE_PACK = auto()
    WAKE_CAR = auto()
    # Something to add to the question: on a page its field stands there already.
    GIVE_CORNER = auto()
    GIVE_FACE = auto()
    GIVE_FINAL_RATIO = auto()
    GIVE_INTERNAL_RATIO = auto()
    GIVE_MASS = auto()
    GIVE_MODE = auto()
    GIVE_PACK = auto()
    GIVE_PEAK_TORQUE = auto()
    GIVE_PINIONS = auto()
    GIVE_PINION_TEETH = auto()
    GIVE_PITCH = auto()
    GIVE_SHAFT = auto()
    GIVE_SPUR_TEETH = auto()
    LEAVE_DRAG_OUT = auto()
    OPEN_FOR_WRITING = auto()
    ROLL_OR_RUN_FREE = auto()


class WayOut(str):
    """A way out that takes an action. As a text it is what holds at every door; it may be empty.

    `about` is the name of the car or pack that the action is done on, where there is one.
    """

    action: Action
    about: str

    def __new__(cls, text: str, action: Action, about: str = "") -> Self:
        """The text, with the action a door adds to it."""
        way_out = super().__new__(cls, text)
        way_out.action = action
        way_out.about = about
        return way_out

    def __bool__(self) -> bool:
        """True: with no text there is still the action."""
        return True
