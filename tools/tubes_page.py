"""Write docs/reference/tubes.md: laws of the tube types, the rows they were fitted to, and how far they miss them.

python tools/tubes_page.py
"""

from __future__ import annotations

from pathlib import Path

from law_figures import (
    DATA,
    DRIVEN,
    QUANTITIES,
    SCREEN_MU,
    Row,
    coupled_figures,
    data_of,
    driven_figures,
    figures,
    number,
)
from lugwright.catalogue import load
from stage_distortion import distortion
from supply_rows import supply_v

PAGE = Path(__file__).parents[1] / "docs/reference/tubes.md"
INTRO = """# Tubes: laws, rows, residuals

Made by `tools/tubes_page.py` from the data files in `src/lugwright/catalogue/data/tubes`; change those and fit again
with `tools/fit_tube.py`, not this page. The equations stand in `src/lugwright/circuit/tubes`, the widths each figure
is fitted with in one table, `WIDTHS`, of the tool.

A figure in brackets is how far the law is off the sheet: (+2.1 %) means the law says 2.1 % more. Rows marked **fit**
entered the fit, **disputed** rows contradict another row or sheet and entered with a third of the weight, **check**
rows are kept out of it and show what the law foretells. A column *left out* is the error of a push-pull row foretold
by a fit to all the others. Most rows are from memory, see the sources in the
[catalogue](catalogue.md) and in the data files. Real tubes are looser than any of this: mind the spread.

Full drive: averages over a sine cycle with the grid driven as the row says, the transformer without resistance, a
pair on its plate-to-plate load; plate and screen current of one tube, output of the stage. Distortion enters no fit:
it is printed as the sheet has it, and in brackets how many times that the law's is. What a sheet leaves open
(the drive, the bias a cathode resistor moves to) stands in the notes.
"""
GOALS = """Goals, set before the first fit: triode plate current within 3 % (0.1 mA where read off a chart), gm and rp
within 8 %; gain of 12AX7 coupled stages within 8 % for nine rows in ten; idle current of output tubes 4 % rms and 8 %
worst, their screen current within 25 %; pair output within 7 % of rows fitted and 12 % of rows not fitted; at full
drive plate current within 7 %, screen current within 20 %; rectifiers within 3 % of the published direct volts.
Figures beyond a goal are in **bold**. Rows from a dim memory (confidence low) are listed below and not counted here,
but for rows not fitted.
"""
UNITS = {"plate_a": (1e3, "mA"), "screen_a": (1e3, "mA"), "cathode_a": (1e3, "mA"), "gm_s": (1e3, "mA/V"),
         "rp_ohm": (1e-3, "kΩ"), "power_w": (1.0, "W"), SCREEN_MU: (1.0, "")}  # fmt: skip
HEADS = {"plate_a": "plate", "screen_a": "screen", "cathode_a": "plate and screen", "gm_s": "gm", "rp_ohm": "rp",
         "power_w": "output", SCREEN_MU: "screen factor"}  # fmt: skip
CUTOFF_A = 1e-4  # rows below are listed, not held to a goal
TRIODE_GOALS = {"plate_a": 0.03, "gm_s": 0.08, "rp_ohm": 0.08}
PENTODE_GOALS = {"plate_a": 0.08, "screen_a": 0.25, "gm_s": 0.18, "rp_ohm": 0.18}
DRIVE_GOALS = {"plate_a": 0.07, "screen_a": 0.20, "cathode_a": 0.07}
COUPLED_GOAL, COUPLED_SHARE = 0.08, 0.9
PAIR_FITTED, PAIR_UNSEEN, SUPPLY_GOAL, RMS_GOAL, CHART_A = 0.07, 0.12, 0.03, 0.04, 1e-4
PAIRS = ("push-pull", "ultralinear")


class Law:
    """One type: its data file, and what its law says at the file's rows, each as relative errors."""

    def __init__(self, stem: str) -> None:
        """Read the data file and evaluate the law at every row."""
        self.data = data_of(stem)
        self.name, self.kind = str(self.data["name"]), str(self.data["kind"])
        self.law: dict[str, object] = self.data["law"]  # type: ignore[assignment]
        self.values = {n: float(v) for n, v in self.law.items() if isinstance(v, float)}
        self.rows, self.driven, self.coupled, self.supply = (
            list(self.data.get(key, []))  # type: ignore[call-overload]
            for key in ("published", "full_drive", "coupled_stages", "supply")
        )
        self.errors = self._errors()
        self.driven_errors = self._driven_errors()
        self.coupled_errors = self._coupled_errors()
        self.supply_errors = [
            supply_v(self.values["perveance"], row) / number(row, "output_v") - 1.0 for row in self.supply
        ]
        left_out = iter(self.law.get("left_out_power", []))  # type: ignore[call-overload]
        self.left_out = [
            next(left_out) if r["use"] == "fit" and r["mode"] == "push-pull" and "power_w" in r else None
            for r in self.driven
        ]

    def _errors(self) -> list[dict[str, float]]:
        if self.kind == "rectifier":
            return [
                {"plate_a": self.values["perveance"] * number(r, "plate_v") ** 1.5 / number(r, "plate_a") - 1.0}
                for r in self.rows
            ]
        said = figures(self.values, self.rows)
        return [
            {q: float(said[q][n]) / number(r, q) - 1.0 for q in (*QUANTITIES, SCREEN_MU) if q in r}
            for n, r in enumerate(self.rows)
        ]

    def _driven_errors(self) -> list[dict[str, float]]:
        if not self.driven:
            return []
        said = driven_figures(self.values, self.driven)
        errors = [
            {q: float(said[q][n]) / number(r, q) - 1.0 for q in DRIVEN if q in r} for n, r in enumerate(self.driven)
        ]
        for n, row in enumerate(self.driven):
            if "distortion" in row:
                errors[n]["times"] = float(said["distortion"][n]) / number(row, "distortion")
        return errors

    def _coupled_errors(self) -> list[dict[str, float]]:
        if not self.coupled:
            return []
        said = coupled_figures(self.values, self.coupled)
        errors = [{"gain": float(said["gain"][n]) / number(s, "gain") - 1.0} for n, s in enumerate(self.coupled)]
        for n, stage in enumerate(self.coupled):
            for sheet in (number(stage, q) for q in ("plate_a", "cathode_a") if q in stage):
                errors[n]["amps"] = float(said["amps"][n]) / sheet - 1.0
            if "distortion" in stage:
                errors[n]["times"] = distortion(self.values, stage, number(stage, "output_rms_v")) / number(
                    stage, "distortion"
                )
        return errors


def is_held(row: Row) -> bool:
    """Return whether the row counts toward a goal: fitted, of a sheet, not from a dim memory."""
    return row["use"] == "fit" and row["confidence"] != "low" and row["source"] != "knee"


def percent(error: float, goal: float = 9.9) -> str:
    """Return an error in percent, bold where it is beyond the goal."""
    text = f"{100.0 * error:+.1f} %"
    return f"**{text}**" if abs(error) > goal else text


def worst(errors: list[float], goal: float) -> str:
    """Return the worst of the errors, "-" where there is none."""
    return percent(max(errors, key=abs), goal) if errors else "-"


def table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """Return a table."""
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines) + "\n"


def _held(law: Law, quantity: str) -> list[float]:
    goal = TRIODE_GOALS["plate_a"]
    found = []
    for row, errors in zip(law.rows, law.errors, strict=True):
        if quantity in errors and is_held(row) and number(row, "plate_a") >= CUTOFF_A:
            off_chart = row["source"] == "chart" and abs(errors[quantity]) * number(row, quantity) <= CHART_A
            found.append(min(errors[quantity], goal, key=abs) if off_chart else errors[quantity])
    return found


def _driven_held(law: Law, quantity: str) -> list[float]:
    return [e[quantity] for r, e in zip(law.driven, law.driven_errors, strict=True) if quantity in e and is_held(r)]


def _pair_power(law: Law, *, fitted: bool) -> list[float]:
    return [
        e["power_w"]
        for r, e in zip(law.driven, law.driven_errors, strict=True)
        if r["mode"] in PAIRS and "power_w" in e and (is_held(r) if fitted else r["use"] == "check")
    ]


def amplifier_summary(laws: list[Law]) -> str:
    """Return the table of the amplifying types against the goals."""
    rows = []
    for law in laws:
        goals = TRIODE_GOALS if "triode" in law.kind else PENTODE_GOALS
        idle = _held(law, "plate_a")
        rms = (sum(e * e for e in idle) / len(idle)) ** 0.5
        rms_text = f"{100 * rms:.1f} %"
        rows.append(
            (
                law.name,
                str(len(idle)),
                rms_text if rms <= RMS_GOAL else f"**{rms_text}**",
                *(worst(_held(law, q), goals.get(q, 9.9)) for q in QUANTITIES),
                *(worst(_driven_held(law, q), DRIVE_GOALS[q]) for q in ("plate_a", "screen_a")),
                worst(_pair_power(law, fitted=True), PAIR_FITTED),
                worst([e for e in law.left_out if e is not None], PAIR_UNSEEN),
                worst(_pair_power(law, fitted=False), PAIR_UNSEEN),
                "no" if load.tube_type(law.name).power_doubt else "yes",
            )
        )
    head = ("type", "rows", "plate rms", "plate worst", "screen", "gm", "rp", "full drive plate", "full drive screen",
            "pair output", "left out", "not fitted", "promises power")  # fmt: skip
    return table(head, rows)


def other_summary(laws: list[Law]) -> str:
    """Return the table of coupled stages and the table of rectifiers against their goals."""
    stages, supplies = [], []
    for law in laws:
        if law.coupled:
            for use in ("fit", "check"):
                met = [e for s, e in zip(law.coupled, law.coupled_errors, strict=True) if s["use"] == use]
                if met:
                    within = sum(abs(e["gain"]) <= COUPLED_GOAL for e in met)
                    text = f"{within} of {len(met)}"
                    if law.name == "12AX7" and within < COUPLED_SHARE * len(met):
                        text = f"**{text}**"
                    gain, amps = (worst([e[q] for e in met if q in e], 9.9) for q in ("gain", "amps"))
                    times = [e["times"] for e in met if "times" in e]
                    heard = f"{min(times):.1f} to {max(times):.1f} times" if times else "-"
                    stages.append((law.name, use, text, gain, amps, heard))
        if law.kind == "rectifier":
            doubt = load.tube_type(law.name).power_doubt
            error = worst(law.supply_errors, SUPPLY_GOAL)
            supplies.append((law.name, str(len(law.supply)), error, "no" if doubt else "yes"))
    return (
        table(("coupled stages of", "use", "gain within 8 %", "worst gain", "worst current", "distortion"), stages)
        + "\n"
        + table(("rectifier", "operating rows", "worst direct volts", "promises volts under load"), supplies)
    )


def _cell(row: Row, errors: dict[str, float], quantity: str) -> str:
    if quantity not in row:
        return ""
    scale, unit = UNITS[quantity]
    said = f" ({percent(errors[quantity])})" if quantity in errors else ""
    return f"{number(row, quantity) * scale:.4g}{f' {unit}' if unit else ''}{said}"


def _used(rows: list[Row], quantities: tuple[str, ...]) -> list[str]:
    return [q for q in quantities if any(q in r for r in rows)]


def _volts(row: Row) -> str:
    parts = [f"{number(row, n):g}" for n in ("plate_v", "screen_v", "grid_v") if n in row]
    return " / ".join(parts) + (" triode" if row.get("connection") == "triode" else "")


def _note(row: Row) -> str:
    return str(row.get("note", ""))


def _points(law: Law) -> str:
    shown = _used(law.rows, (*QUANTITIES, SCREEN_MU))
    head = ("volts", *(HEADS[q] for q in shown), "use", "confidence", "note")
    rows = [
        (_volts(r), *(_cell(r, e, q) for q in shown), str(r["use"]), str(r["confidence"]), _note(r))
        for r, e in zip(law.rows, law.errors, strict=True)
    ]
    return table(head, rows)


def _drives(law: Law) -> str:
    shown = _used(law.driven, DRIVEN)
    head = (
        "stage",
        "volts",
        "drive",
        "load",
        *(HEADS[q] for q in shown),
        "distortion",
        "left out",
        "use",
        "confidence",
        "note",
    )
    rows = []
    for r, e, blind in zip(law.driven, law.driven_errors, law.left_out, strict=True):
        mode = f"{r['mode']} {100 * number(r, 'tap'):.0f} %" if "tap" in r else str(r["mode"])
        rows.append(
            (mode, _volts(r), f"{number(r, 'drive_v'):g} V", f"{number(r, 'load_ohm') / 1e3:g} kΩ",
             *(_cell(r, e, q) for q in shown), _heard(r, e), "" if blind is None else percent(blind), str(r["use"]),
             str(r["confidence"]), _note(r))
        )  # fmt: skip
    return table(head, rows)


def _heard(row: Row, errors: dict[str, float]) -> str:
    """Return the sheet's distortion and how many times that the law's is."""
    return f"{100 * number(row, 'distortion'):g} % ({errors['times']:.1f} times)" if "times" in errors else ""


def _stages(law: Law) -> str:
    rows = []
    for r, e in zip(law.coupled, law.coupled_errors, strict=True):
        amps = next(
            (f"{1e3 * number(r, q):g} mA ({percent(e['amps'])})" for q in ("plate_a", "cathode_a") if q in r), ""
        )
        ohms = [
            f"{number(r, n) / 1e3:g}" if n in r else "-" for n in ("plate_ohm", "screen_ohm", "next_ohm", "cathode_ohm")
        ]
        use = str(r["use"])
        gain = f"{number(r, 'gain'):g} ({percent(e['gain'])})"
        heard = f"{_heard(r, e)} at {number(r, 'output_rms_v'):g} V" if "times" in e else ""
        rows.append((f"{number(r, 'supply_v'):g} V", *ohms, use, amps, gain, heard))
    return table(
        ("supply", "plate kΩ", "screen kΩ", "next grid kΩ", "cathode kΩ", "use", "current", "gain", "distortion"), rows
    )


def _supplies(law: Law) -> str:
    rows = [
        (f"{number(r, 'plate_rms_v'):g} V", f"{1e3 * number(r, 'output_a'):g} mA", f"{number(r, 'supply_ohm'):g} Ω",
         f"{1e6 * number(r, 'reservoir_f'):g} µF", f"{number(r, 'mains_hz'):g} Hz",
         f"{number(r, 'output_v'):g} V ({percent(e)})")
        for r, e in zip(law.supply, law.supply_errors, strict=True)
    ]  # fmt: skip
    return table(("rms per plate", "load", "resistance per plate", "capacitor", "mains", "direct volts"), rows)


def section(law: Law) -> str:
    """Return the section of one type."""
    tube = load.tube_type(law.name)
    promised = "volts under load" if law.kind == "rectifier" else "power"
    parts = [f"### {law.name}\n"]
    if tube.power_doubt:
        parts.append(f"Promises no {promised}: {tube.power_doubt}.\n")
    parts.append("Law: " + ", ".join(f"`{n}` {v:g}" for n, v in law.values.items()) + ".\n")
    parts.append(_points(law))
    for rows, made in ((law.driven, _drives), (law.coupled, _stages), (law.supply, _supplies)):
        if rows:
            parts.append(made(law))
    return "\n".join(parts)


def page() -> str:
    """Return the page."""
    laws = sorted((Law(file.stem) for file in DATA.glob("*.toml")), key=lambda law: law.name)
    amplifiers = [law for law in laws if law.kind != "rectifier"]
    parts = [INTRO, "## Against the goals\n", GOALS, amplifier_summary(amplifiers), other_summary(laws)]
    return "\n".join([*parts, "## Types\n", *(section(law) for law in laws)])


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
