"""What entries say of things measured, fitted, set and photographed, and of an entry taken back."""

from __future__ import annotations

import math

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from lugwright.log.ranges import RANGES

READING, AS_BUILT, TUBE_FITTED, SETTING, PHOTO = "reading", "as built", "tube fitted", "setting", "photo"
TAKEN_BACK = "taken back"
# quantity of a reading -> its unit
QUANTITIES = {
    "ohm": "ohm", "V dc": "V", "V ac": "V", "ripple V ac": "V", "signal V ac": "V", "A dc": "A", "farad": "F",
    "lamp": "", "sign": "",
}  # fmt: skip
# what was measured as built -> unit, least, most
AS_BUILT_OF = {
    "ohm": ("ohm", 1e-3, 1e9),
    "farad": ("F", 1e-13, 1.0),
    "winding ohm": ("ohm", 1e-3, 1e5),
    "unloaded volts": ("V", 0.1, 5e3),
    "mains volts": ("V", 50.0, 300.0),
}


class EntryBody(BaseModel):
    """What an entry says: strict, and open for what a later version says more."""

    model_config = ConfigDict(strict=True, extra="ignore", frozen=True)


class ReadingBody(EntryBody):
    """What a meter showed between two points, at one step of the first power-up."""

    step: str = Field(min_length=1, max_length=100)  # key of the step
    red: str = Field(min_length=1, max_length=100)  # key of a terminal of the plan, or a joint
    black: str = Field(default="ground", min_length=1, max_length=100)
    quantity: str
    value: float | None = None  # in the unit; none when the meter was over range
    unit: str
    over_range: bool = False
    digit: float = Field(default=0.0, ge=0.0, allow_inf_nan=False)  # last place of the display, in the unit
    meter: str = Field(default="", max_length=200)
    meter_time: str = Field(default="", max_length=100)  # by the meter's own clock, as its logger wrote it
    condition: str = Field(default="", max_length=200)  # "R49 Bias full clockwise"
    words: str = Field(default="", max_length=400)  # the point as it was written

    @model_validator(mode="after")
    def _as_meters_show(self) -> ReadingBody:
        if QUANTITIES.get(self.quantity) != self.unit:
            raise PydanticCustomError("unit", "quantity and unit do not go together")
        if (self.value is None) != self.over_range:
            raise PydanticCustomError("value", "a value, or over range")
        low, high = RANGES[self.unit]
        if self.quantity.endswith("V ac"):
            low = 0.0
        if self.value is not None and not (math.isfinite(self.value) and low <= self.value <= high):
            raise PydanticCustomError("range", "value that no meter shows")
        return self

    @property
    def shown(self) -> float:
        """Return the value, infinite for over range."""
        return math.inf if self.value is None else self.value


class AsBuiltBody(EntryBody):
    """A part, a winding or the mains, measured: predictions use this in place of what the build file states."""

    of: str  # "ohm", "farad", "winding ohm", "unloaded volts", "mains volts"
    part: str = Field(default="", max_length=100)  # none for the mains
    ends: list[str] = Field(default=[], max_length=2)  # of a winding; the section of a can
    value: float
    unit: str
    accuracy: float = Field(gt=0.0, le=0.2)  # of the meter, relative
    at_mains_v: float | None = Field(default=None, ge=50.0, le=300.0)  # on the primary, when the volts were read
    stated: str = Field(default="", max_length=400)  # what the build file said of the part then

    @model_validator(mode="after")
    def _of_a_part(self) -> AsBuiltBody:
        if self.of not in AS_BUILT_OF:
            raise PydanticCustomError("of", "unknown measure")
        unit, low, high = AS_BUILT_OF[self.of]
        if unit != self.unit:
            raise PydanticCustomError("unit", "measure and unit do not go together")
        if not low <= self.value <= high:
            raise PydanticCustomError("range", "value that no part has")
        if (self.of == "mains volts") == bool(self.part):
            raise PydanticCustomError("part", "a part, or the mains")
        if (self.of in ("winding ohm", "unloaded volts")) != (len(self.ends) == 2):
            raise PydanticCustomError("ends", "two ends of a winding")
        if self.of == "unloaded volts" and self.at_mains_v is None:
            raise PydanticCustomError("mains", "unloaded volts without the mains volts of the moment")
        return self


class MeasuredSection(EntryBody):
    """One section of a tube on a tester or at its idle: current at known volts."""

    section: str = Field(default="", pattern=r"^[a-d]?$")
    plate_a: float = Field(gt=0.0, le=2.0)
    plate_v: float = Field(gt=0.0, le=2e3)
    screen_v: float | None = Field(default=None, gt=0.0, le=2e3)
    grid_v: float = Field(ge=-300.0, le=50.0)


class TubeFittedBody(EntryBody):
    """A tube stands in its socket."""

    socket: str = Field(min_length=1, max_length=100)  # the tube's designator: V5
    type: str = Field(min_length=1, max_length=100)
    label: str = Field(default="", max_length=200)  # maker, number on its glass
    measured: list[MeasuredSection] = Field(default=[], max_length=4)


class SettingBody(EntryBody):
    """Where a control or a switch stands."""

    control: str = Field(min_length=1, max_length=100)
    position: str = Field(min_length=1, max_length=200)
    share: float | None = Field(default=None, ge=0.0, le=1.0)  # of its turn, from the counterclockwise end


class PhotoBody(EntryBody):
    """A picture beside the build file, by name; it is neither copied nor opened."""

    file: str = Field(min_length=1, max_length=255, pattern=r"^[^/\\\x00-\x1f]+$")
    text: str = Field(default="", max_length=2000)


class TakenBackBody(EntryBody):
    """An earlier entry does not count."""

    entry: str = Field(pattern=r"^[0-9a-f]{32}$")


MEASURED_BODIES: dict[str, type[EntryBody]] = {
    READING: ReadingBody,
    AS_BUILT: AsBuiltBody,
    TUBE_FITTED: TubeFittedBody,
    SETTING: SettingBody,
    PHOTO: PhotoBody,
    TAKEN_BACK: TakenBackBody,
}
