"""Parts as a person writes them: one strict model for each kind, and the tables around them.

Every field says what it is and shows an example; the JSON Schema and the messages are made from these.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from lugwright.errors import ValueSyntaxError
from lugwright.quantities import Kind, Value, component_value


def _value_of(kind: Kind) -> Any:
    def read(text: object) -> Value:
        if not isinstance(text, str):
            raise PydanticCustomError("value_text", "{wanted}", {"wanted": "the value in quotes, unit and all"})
        try:
            value = component_value(text, kind)
        except ValueSyntaxError as error:
            raise PydanticCustomError("value_syntax", "{wanted}", {"wanted": error.wanted, "do": error.do}) from None
        if value.base <= 0:
            raise PydanticCustomError("value_zero", "{wanted}", {"wanted": f"more than zero {kind}"})
        return value

    return BeforeValidator(read)


Ohms = Annotated[Value, _value_of("ohm"), WithJsonSchema({"type": "string", "examples": ["4k7", "1M", "470"]})]
Farads = Annotated[Value, _value_of("farad"), WithJsonSchema({"type": "string", "examples": ["22n", "47u", "470p"]})]
Henries = Annotated[Value, _value_of("henry"), WithJsonSchema({"type": "string", "examples": ["5H", "10H"]})]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False, le=1e6)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False, le=1e6)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e5, le=1e5)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Joint = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f]+$")]
Open = Annotated[str, Field(max_length=60, pattern=r"^[^\x00-\x1f]*$")]
Words = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x08\x0b-\x1f]*$", description="plain text")]
TwoEnds = Annotated[
    list[Joint], Field(min_length=2, max_length=2, description='both joints, e.g. ["B+3", "V1a.plate"]')
]
Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]


class Written(BaseModel):
    """What all tables share: nothing unknown, nothing guessed."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class PartWritten(Written):
    """What all parts share."""

    kind: str | None = Field(None, description="the kind of part, where the designator does not say it")
    note: Words = Field("", description="a remark for the book")


class ResistorWritten(PartWritten):
    value: Ohms = Field(description='resistance, e.g. "4k7"')
    ends: TwoEnds
    watts: Positive = Field(0.5, description="rated power, e.g. 1")
    tolerance: Positive | None = Field(None, le=50, description="percent, e.g. 5")
    volts: Positive | None = Field(None, description="limiting voltage, when it differs from the catalogue's")
    style: Literal["metal film", "carbon composition", "wirewound"] = Field("metal film", description="how it is made")


class PotWritten(PartWritten):
    value: Ohms = Field(description='resistance of the whole track, e.g. "1M"')
    ends: Annotated[
        list[Joint], Field(min_length=3, max_length=3, description="counterclockwise end, wiper, clockwise end")
    ]
    taper: Literal["linear", "audio", "reverse audio"] = Field(description='e.g. "audio"')
    label: Words = Field("", description="the word on the panel")
    setting: Share = Field(0.5, description="share of rotation it stands at, 0 to 1")
    watts: Positive = Field(0.5, description="rated power")
    tolerance: Positive | None = Field(None, le=50, description="percent")
    switch: TwoEnds | None = Field(None, description="joints of the switch on its shaft")


class CapacitorWritten(PartWritten):
    value: Farads = Field(description='capacitance, e.g. "22n"')
    volts: Positive = Field(description="rated voltage, e.g. 630")
    ends: TwoEnds
    style: Literal["film", "electrolytic", "mica", "ceramic"] | None = Field(None, description="how it is made")
    tolerance: Positive | None = Field(None, le=90, description="percent")
    polar: bool | None = Field(None, description="true: the first end is plus; electrolytics are polar by themselves")


class CanWritten(PartWritten):
    values: Annotated[list[Farads], Field(min_length=1, max_length=6, description='sections, e.g. ["47u", "47u"]')]
    volts: Positive = Field(description="rated voltage of each section")
    ends: Annotated[list[Joint], Field(min_length=2, max_length=7, description="plus of each section, then minus")]
    tolerance: Positive | None = Field(None, le=90, description="percent")


class ChokeWritten(PartWritten):
    value: Henries = Field(description='inductance, e.g. "5H"')
    ohm: Positive = Field(description="winding resistance")
    amps: Positive = Field(description="rated direct current")
    light: Henries | None = Field(None, description='of a swinging choke: inductance without current, e.g. "20H"')
    ends: TwoEnds


class WindingWritten(Written):
    ends: Annotated[
        list[Open], Field(min_length=2, max_length=12, description="joints along the winding, taps between")
    ]
    volts: Annotated[list[Positive], Field(min_length=1)] | Positive | None = Field(
        None, description="volts without load of each section between neighboring ends"
    )
    rated_volts: Annotated[list[Positive], Field(min_length=1)] | Positive | None = Field(
        None, description="volts at rated amps of each section, as on the label; goes with regulation"
    )
    turns: Annotated[list[Positive], Field(min_length=1)] | Positive | None = Field(
        None, description="relative turns of each section, instead of volts"
    )
    impedance: Annotated[list[Positive], Field(min_length=1)] | Positive | None = Field(
        None,
        description="ohms from the first end to each following one, instead of turns, e.g. [4, 8, 16]; "
        "one number: of the whole winding, its sections alike",
    )
    ohms: Annotated[list[Positive], Field(min_length=1)] | Positive | None = Field(
        None, description="copper resistance of each section; worked out from regulation where it is left out"
    )
    amps: Positive | None = Field(None, description="rated current")
    colors: list[Words] = Field([], description="lead colors in order")


class TransformerWritten(PartWritten):
    kind: Literal["power transformer", "output transformer", "reverb transformer", "interstage transformer"] = Field(
        description='e.g. "output transformer"'
    )
    windings: Annotated[dict[str, WindingWritten], Field(min_length=1, description="windings, the primary first")]
    regulation: Annotated[float, Field(gt=0, le=0.5, allow_inf_nan=False)] | None = Field(
        None, description="of a power transformer: rise of its volts from rated load to none, e.g. 0.08"
    )
    magnetizing: Positive | None = Field(None, description="inductance of the whole first winding, henries")
    leakage: NotNegative = Field(0.0, description="leakage inductance seen from the first winding, henries")


class DiodeWritten(PartWritten):
    volts: Positive = Field(description="highest inverse voltage, e.g. 1000")
    amps: Positive = Field(description="rated current, e.g. 1")
    ends: Annotated[list[Joint], Field(min_length=2, max_length=2, description="anode, then cathode")]


class ZenerWritten(PartWritten):
    zener_volts: Positive = Field(description="its voltage, e.g. 12")
    watts: Positive = Field(description="rated power, e.g. 5")
    ends: Annotated[list[Joint], Field(min_length=2, max_length=2, description="anode, then cathode")]


class BridgeWritten(PartWritten):
    volts: Positive = Field(description="highest inverse voltage of one diode")
    amps: Positive = Field(description="rated current")
    ends: Annotated[list[Joint], Field(min_length=4, max_length=4, description="alternating, alternating, plus, minus")]


class JackWritten(PartWritten):
    tip: Joint = Field(description="joint of the tip")
    sleeve: Joint = Field(description="joint of the sleeve")
    tip_switch: Joint | None = Field(None, description="joint of the contact that rests on the tip with no plug in")
    label: Words = Field("", description="the word on the panel")
    isolated: bool = Field(False, description="true: the bushing does not touch the metal")
    switched: bool = Field(False, description="true: it has the resting contact")
    plug_in: bool = Field(False, description="whether a plug is in while everything is computed")


class SwitchWritten(PartWritten):
    poles: Annotated[
        list[Annotated[list[Open], Field(min_length=2, max_length=13)]],
        Field(min_length=1, max_length=6, description='for each pole: common, then each throw; "" for a spare throw'),
    ]
    positions: Annotated[list[Words], Field(min_length=2, max_length=12, description='names, e.g. ["off", "on"]')]
    position: Words | None = Field(None, description="the position everything is computed in; the last by default")
    label: Words = Field("", description="the word on the panel")
    volts: Positive = Field(250.0, description="rated voltage")
    amps: Positive = Field(3.0, description="rated current")


class FuseWritten(PartWritten):
    amps: Positive = Field(description="rated current, e.g. 1.25")
    ends: TwoEnds
    speed: Literal["slow", "fast"] = Field("slow", description="slow for a mains fuse before a transformer")
    volts: Positive = Field(250.0, description="rated voltage")
    ohm: Positive = Field(0.2, description="resistance, cold")


class LampWritten(PartWritten):
    volts: Positive = Field(description="rated voltage, e.g. 6.3")
    amps: Positive = Field(description="rated current, e.g. 0.15")
    ends: TwoEnds
    label: Words = Field("", description="the word on the panel")


class ThermistorWritten(PartWritten):
    cold_ohm: Positive = Field(description="resistance at room temperature")
    hot_ohm: Positive = Field(description="resistance at hot_amps")
    hot_amps: Positive = Field(description="the current it is hot at")
    fit: Annotated[list[Number], Field(min_length=2, max_length=2)] | None = Field(
        None, description="X and Y of the maker's sheet: ohms = X amps^Y, e.g. [3.04, -1.36]"
    )
    fit_from: Positive | None = Field(None, description="amps from which that holds; a quarter of hot_amps otherwise")
    ends: TwoEnds


class InletWritten(PartWritten):
    line: Joint = Field(description="joint of the line (hot) contact")
    neutral: Joint = Field(description="joint of the neutral contact")
    earth: Joint = Field("earth", description="joint of the earth contact")
    cord: bool = Field(False, description="true: a fixed cord instead of an inlet")


class SpeakerWritten(PartWritten):
    ohm: Positive = Field(description="nominal impedance, e.g. 8")
    watts: Positive = Field(description="rated power")
    ends: TwoEnds


class TankWritten(PartWritten):
    input: Positive = Field(description="input impedance, e.g. 8")
    output: Positive = Field(description="output impedance, e.g. 2250")
    ends: Annotated[list[Joint], Field(min_length=4, max_length=4, description="input, its ground, output, its ground")]


class BondWritten(PartWritten):
    ends: TwoEnds
    purpose: Words = Field(description="why these two joints are tied")


Factor = Annotated[float, Field(ge=0.2, le=5, allow_inf_nan=False)]


class MeasuredWritten(Written):
    """A measured tube against the published average of its type, as ``lugwright fit`` prints it."""

    emission: Factor = Field(1.0, description="current against the published, e.g. 0.92")
    amplification: Annotated[float, Field(ge=0.5, le=2, allow_inf_nan=False)] = Field(
        1.0, description="amplification factor against the published, e.g. 1.02"
    )
    shift_v: Annotated[float, Field(ge=-10, le=10, allow_inf_nan=False)] = Field(
        0.0, description="volts added to the grid's own, e.g. -0.4"
    )
    cutoff: Factor = Field(1.0, description="how sharply it cuts off, e.g. 1.1")
    screen: Factor = Field(1.0, description="the screen's share of the current against the published, e.g. 0.9")
    plate_slope: Factor = Field(1.0, description="rise of current with plate volts against the published, e.g. 1.2")
    knee: Factor = Field(1.0, description="above 1 the knee stands at fewer plate volts, e.g. 1.1")


class TubeWritten(Written):
    type: Words = Field(description='e.g. "12AX7"')
    measured: MeasuredWritten | None = Field(
        None, description="figures of this very tube, e.g. { emission = 0.92, shift_v = -0.4 }"
    )
    measured_a: MeasuredWritten | None = Field(None, description="the same of section a alone")
    measured_b: MeasuredWritten | None = Field(None, description="the same of section b alone")
    unused: list[Literal["a", "b"]] = Field([], description="sections left without a circuit")
    note: Words = ""


class MainsWritten(Written):
    volts: Annotated[float, Field(ge=80, le=260)] = Field(description="nominal mains voltage, e.g. 120")
    hertz: Literal[50, 60] = Field(description="mains frequency")


class HeadWritten(Written):
    title: Annotated[Words, Field(min_length=1, max_length=80)] = Field(
        description='name of the build, e.g. "Dunlin 5"'
    )
    mains: MainsWritten = Field(description="mains = { volts = 120, hertz = 60 }")
    note: Words = ""


class ChassisWritten(Written):
    inside: Annotated[list[Positive], Field(min_length=3, max_length=3, description="width, depth, height in mm")]
    material: Literal["aluminum", "steel"] = "aluminum"
    thickness: Positive = Field(1.5, description="mm")


class PlaceWritten(Written):
    at: Pair = Field(description="mm: x and y on the plate; along and height on a panel")
    turn: Number = Field(0.0, description="degrees clockwise, seen from the wiring side")
    panel: Literal["plate", "front", "rear", "left", "right"] = "plate"


class StripWritten(Written):
    lugs: Annotated[int, Field(ge=1, le=30)] | None = Field(
        None, description="how many, feet included (left out with at: as many as needed)"
    )
    at: Pair | None = Field(None, description="mm, center of lug 1 (left out: the program places the strip)")
    foot: int | None = Field(None, description="the lug that is bolted down")
    feet: list[int] | None = Field(None, description="the lugs that are bolted down")
    turn: Number | None = Field(None, description="0: lugs run to the right; 90: toward the front; 0 unless written")
    type: Words = "strip 9.5"


class BusWritten(Written):
    points: Annotated[list[Pair], Field(min_length=2)] | None = Field(
        None, description="mm, from end to end (left out: the program places the bus)"
    )
    height: Positive = Field(12.0, description="mm above the plate")
    joint: Joint | None = Field(None, description="the joint it carries; its own name by default")


class StarWritten(Written):
    at: Annotated[Pair, Field(description="mm, its screw")]
    lugs: Annotated[int, Field(ge=2, le=16, description="in a ring about the screw")] = 8
    height: Positive = Field(12.0, description="mm of the lugs above the plate")
    joint: Joint | None = Field(None, description="the joint it carries; its own name by default")


TERMS = ("wires", "coupling", "crossings", "layers", "busy", "lugs", "leads", "heat", "order")
OneOrMore = Annotated[
    list[Joint],
    Field(min_length=1, max_length=100),
    BeforeValidator(lambda value: [value] if isinstance(value, str) else value),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}]}),
]


class PlanWritten(Written):
    between: dict[str, Annotated[list[Joint], Field(min_length=2, max_length=2)]] = Field(
        default_factory=dict, description='a part and its two lugs or pins, e.g. R3 = ["A.2", "V1.3"]'
    )
    on: dict[str, OneOrMore] = Field(
        default_factory=dict, description='a joint and the lug that carries it, or several, e.g. "B+3" = "C.2"'
    )
    keep_off: dict[str, OneOrMore] = Field(
        default_factory=dict, description='a joint or a part and the strips it stays off, e.g. "V1a.plate" = ["B"]'
    )
    dislike: dict[str, Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]] = Field(
        default_factory=dict, description="how many times the usual weight a term has, e.g. crossings = 3"
    )
    shield: dict[str, bool] = Field(
        default_factory=dict, description='whether the wires of a joint are shielded, e.g. "J1.tip" = true'
    )


PART_KINDS: dict[str, type[PartWritten]] = {
    "resistor": ResistorWritten,
    "pot": PotWritten,
    "capacitor": CapacitorWritten,
    "can": CanWritten,
    "choke": ChokeWritten,
    "power transformer": TransformerWritten,
    "output transformer": TransformerWritten,
    "reverb transformer": TransformerWritten,
    "interstage transformer": TransformerWritten,
    "diode": DiodeWritten,
    "Zener diode": ZenerWritten,
    "bridge": BridgeWritten,
    "jack": JackWritten,
    "switch": SwitchWritten,
    "fuse": FuseWritten,
    "lamp": LampWritten,
    "thermistor": ThermistorWritten,
    "mains inlet": InletWritten,
    "speaker": SpeakerWritten,
    "reverb tank": TankWritten,
    "bond": BondWritten,
}

KIND_OF_LETTERS = {
    "R": "resistor",
    "C": "capacitor",
    "CR": "diode",
    "VR": "Zener diode",
    "L": "choke",
    "J": "jack",
    "S": "switch",
    "F": "fuse",
    "DS": "lamp",
    "RT": "thermistor",
    "P": "mains inlet",
    "LS": "speaker",
    "DL": "reverb tank",
    "W": "bond",
    "T": "output transformer",
}
