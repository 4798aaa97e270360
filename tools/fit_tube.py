"""Fit the law of tube types to the published rows in their data files, and write it there.

    python tools/fit_tube.py            fit every type and rewrite its [law] table
    python tools/fit_tube.py EL84 GZ34  only these
    python tools/fit_tube.py --check    fit, print, write nothing; exit 1 if a file would change

Rows with ``use = "fit"`` enter, disputed rows with three times the width, ``check`` rows not at all. Rows of full
drive enter as averages over a sine cycle, see `full_drive`, coupled stages by their gain. A residual is
ln(law / sheet) over its width in `WIDTHS`. Starts are drawn from one seed: same rows, same law. Each push-pull row
that was fitted is then left out once and foretold by a fit to the others: that error is written down too.
"""

from __future__ import annotations

import sys
import tomllib
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from law_figures import (
    DATA,
    DRIVEN,
    KVB,
    QUANTITIES,
    SCREEN_MU,
    Floats,
    Params,
    Row,
    coupled_figures,
    driven_figures,
    figures,
    number,
)

SEED, STARTS, STARTS_LEFT_OUT = 20, 8, 2
# Relative widths, all of them: how far a sheet's figure may be off before it counts.
WIDTHS = {
    "plate_a, read or high": 0.02,
    "plate_a, medium": 0.03,
    "plate_a, low": 0.20,
    "plate_a, computed knee": 0.15,
    "plate_a, approximate cut-off": 0.10,
    "plate_a, read off a chart": 0.03,  # and 0.05 mA
    "screen_a": 0.08,
    "gm_s": 0.04,
    "rp_ohm": 0.06,
    "screen_mu": 0.10,
    "gain of a coupled stage": 0.10,
    "full drive plate_a": 0.035,
    "full drive screen_a": 0.18,
    "full drive cathode_a": 0.04,
    "full drive power_w": 0.04,
    "full drive, low": 2.0,  # times that
    "disputed": 3.0,  # times that
}
CHART_A, CUTOFF_A = 5e-5, 2e-5  # below the latter a sheet says "approximately"
# Weak pull toward ordinary values (center, ln width): it decides only what the rows leave open.
# The center of a triode's mu is the sheet's amplification factor.
TRIODE_USUAL = {"mu": (20.0, 0.3), "k": (1.5e-3, 3.0), "kp": (300.0, 1.5), "vct": (0.5, 1.0),
                "tail_share": (0.03, 1.0), "tail_mu_ratio": (0.6, 0.5)}  # fmt: skip
TRIODE_PLAIN = {"mu": 0.0, "k": 0.0, "kp": 0.0, "vct": 0.0, "tail_share": 0.0, "tail_mu_ratio": 1.0, "power": 1.5,
                "soft_v": 0.0}  # fmt: skip
PENTODE_USUAL = {"mu": (9.0, 0.7), "k": (1.5e-3, 3.0), "kp": (40.0, 1.0), "vct": (1.0, 1.0), "rho": (0.08, 0.7),
                 "slope": (3e-4, 1.0), "alpha_s": (6.0, 0.7), "beta": (0.08, 0.6)}  # fmt: skip
PULL = 0.15  # strength of that pull
# Powers of triodes whose rows ask for another than 3/2, with a bend of so many grid volts beside them. The chart of the
# 6SL7GT, the one chart of a high-mu triode at hand, is met best at 1.19; a 12AX7 measured whole had 1.26.
POWERS = {"12AX7": 1.2, "6SL7GT": 1.2}
SOFT_USUAL, SOFT_BOUNDS = (0.2, 1.0), (0.01, 2.0)
TRIODE_BOUNDS = {"mu": (5, 150), "k": (1e-5, 1e-1), "kp": (5, 5000), "vct": (-0.5, 2.0), "tail_share": (1e-4, 0.7),
                 "tail_mu_ratio": (0.2, 1.0)}  # fmt: skip
PENTODE_BOUNDS = {"mu": (4, 60), "k": (1e-5, 1e-1), "kp": (3, 3000), "vct": (-0.5, 8.0), "rho": (0.01, 0.4),
                  "slope": (1e-6, 3e-3), "alpha_s": (0.3, 60), "beta": (0.005, 1.0)}  # fmt: skip
GRID_GAIN = {"12AX7": 6e-4, "6L6GC": 1e-3}  # measured; implied by driving powers recalled from a sheet
GRID_GAIN_SHARE = {"triode": 0.5, "triode, power 1.2": 0.35, "pentode": 0.8}  # of k, for all others, +/-50 %


@dataclass(frozen=True)
class Target:
    """One published figure: which row, which quantity, its value, its relative width."""

    row: int
    quantity: str
    value: float
    width: float


def targets_of(rows: list[Row], quantities: tuple[str, ...], *, driven: bool) -> list[Target]:
    """Return every figure of the rows that enter the fit, in order of quantity."""
    found = []
    for quantity in quantities:
        for index, row in enumerate(rows):
            if row["use"] != "check" and quantity in row:
                more = WIDTHS["disputed"] if row["use"] == "disputed" else 1.0
                width = _driven_width(row, quantity) if driven else _width(row, quantity)
                found.append(Target(index, quantity, number(row, quantity), width * more))
    return found


def _width(row: Row, quantity: str) -> float:
    if quantity != "plate_a":
        return WIDTHS[quantity]
    if row["source"] == "knee":
        return WIDTHS["plate_a, computed knee"]
    if row["source"] == "chart":
        return WIDTHS["plate_a, read off a chart"] + CHART_A / number(row, "plate_a")
    if number(row, "plate_a") <= CUTOFF_A:
        return WIDTHS["plate_a, approximate cut-off"]
    confidence = "read or high" if row["confidence"] in ("read", "high") else str(row["confidence"])
    return WIDTHS[f"plate_a, {confidence}"]


def _driven_width(row: Row, quantity: str) -> float:
    return WIDTHS[f"full drive {quantity}"] * (WIDTHS["full drive, low"] if row["confidence"] == "low" else 1.0)


class Problem:
    """The least-squares problem of one type: rows, free parameters, pull and bounds."""

    def __init__(
        self,
        data: dict[str, object],
        usual: dict[str, tuple[float, float]],
        bounds: dict[str, tuple[float, float]],
        held: Params,
    ):
        """Take the rows of a data file: points, full drive, coupled stages; parameters that are held, not fitted."""
        self.held = held
        rows, self.driven, stages = (
            list(data.get(key, []))  # type: ignore[call-overload]
            for key in ("published", "full_drive", "coupled_stages")
        )
        self.rows, self.names = rows, list(usual)
        self.stages = [stage for stage in stages if stage["use"] == "fit"]
        self.gains = np.array([number(stage, "gain") for stage in self.stages])
        self.targets = targets_of(rows, (*QUANTITIES, SCREEN_MU), driven=False)
        self.driven_targets = targets_of(self.driven, DRIVEN, driven=True)
        mu = [number(r, "mu") for r in rows if "mu" in r]
        centers = {n: u[0] for n, u in usual.items()} | ({"mu": float(np.mean(mu))} if mu else {})
        self.center, self.low, self.high = self.x(centers), self.x(bounds, 0), self.x(bounds, 1)
        self.width = np.array([u[1] for u in usual.values()])

    def x(self, values: dict[str, object], end: int | None = None) -> Floats:
        """Return parameters as the solver sees them: logarithms, the contact potential as it is."""
        plain = [values[n] if end is None else values[n][end] for n in self.names]  # type: ignore[index]
        return np.array([v if n == "vct" else np.log(v) for n, v in zip(self.names, plain, strict=True)])

    def params(self, x: Floats) -> Params:
        """Return the parameters of a point of the solver."""
        fitted = {n: float(v if n == "vct" else np.exp(v)) for n, v in zip(self.names, x, strict=True)}
        return fitted | self.held

    def residuals(self, x: Floats) -> Floats:
        """Return all residuals, the pull, and by how much the screen would take more than the cathode sends."""
        law = self.params(x)
        parts = [_residuals(figures(law, self.rows), self.targets)]
        if self.driven:
            parts.append(_residuals(driven_figures(law, self.driven), self.driven_targets))
        if self.stages:
            said = coupled_figures(law, self.stages)["gain"]
            parts.append(np.log(said / self.gains) / WIDTHS["gain of a coupled stage"])
        over = max(0.0, law["rho"] * (1.0 + law["alpha_s"]) - 1.0) * 100.0 if "rho" in law else 0.0
        return np.concatenate([*parts, PULL * (x - self.center) / self.width, [over]])

    def solve(self, starts: list[Floats]) -> Params:
        """Return the parameters with the least sum of squares over all starts."""
        inside = [np.clip(s, self.low + 1e-6, self.high - 1e-6) for s in starts]
        box = (self.low, self.high)
        tries = [least_squares(self.residuals, s, bounds=box, xtol=1e-10, ftol=1e-10, max_nfev=1000) for s in inside]
        return self.params(min(tries, key=lambda t: (round(float(t.cost), 6), t.x.tolist())).x)

    def starts(self, middle: Floats, count: int) -> list[Floats]:
        """Return ``middle`` and ``count`` random points about it."""
        random = np.random.default_rng(SEED)
        far = random.normal(0.0, 0.6, (count, len(self.names))) * np.minimum(self.width, 0.8)
        return [middle, *(middle + f for f in far)]


def _residuals(said: dict[str, Floats], targets: list[Target]) -> Floats:
    return np.array([np.log(max(float(said[t.quantity][t.row]) / t.value, 1e-9)) / t.width for t in targets])


def rectifier_perveance(rows: list[Row]) -> float:
    """Return the perveance through the published drops: their geometric mean where sheets differ."""
    drops = [(number(r, "plate_v"), number(r, "plate_a")) for r in rows if r["use"] == "fit"]
    return float(np.exp(np.mean([np.log(amps / volts**1.5) for volts, amps in drops])))


def problem_of(data: dict[str, object]) -> Problem:
    """Return the problem of an amplifying type."""
    rows: list[Row] = data["published"]  # type: ignore[assignment]
    if "triode" not in str(data["kind"]):
        return Problem(data, PENTODE_USUAL, PENTODE_BOUNDS, {})
    usual, bounds = dict(TRIODE_USUAL), dict(TRIODE_BOUNDS)
    if not any(r["use"] == "fit" and number(r, "plate_a") <= CUTOFF_A for r in rows):
        usual = {n: u for n, u in usual.items() if not n.startswith("tail")}
    power = POWERS.get(str(data["name"]))
    if power is None:
        return Problem(data, usual, bounds, {})
    usual["soft_v"], bounds["soft_v"] = SOFT_USUAL, SOFT_BOUNDS
    return Problem(data, usual, bounds, {"power": power})


def left_out_power(data: dict[str, object], law: Params) -> list[float]:
    """Return the relative power error of every fitted push-pull row, foretold by a fit that has not seen it."""
    driven: list[Row] = data.get("full_drive", [])  # type: ignore[assignment]
    errors = []
    for row in driven:
        if row["use"] == "fit" and row["mode"] == "push-pull" and "power_w" in row:
            others = problem_of(data | {"full_drive": [r for r in driven if r is not row]})
            blind = others.solve(others.starts(others.x(law), STARTS_LEFT_OUT))  # type: ignore[arg-type]
            errors.append(float(driven_figures(blind, [row])["power_w"][0]) / number(row, "power_w") - 1.0)
    return errors


def law_of(data: dict[str, object]) -> tuple[str, Params, str, list[float]]:
    """Return the kind of law, its parameters, how well it meets its rows, and the errors of rows left out."""
    rows: list[Row] = data["published"]  # type: ignore[assignment]
    name, kind = str(data["name"]), str(data["kind"])
    if kind == "rectifier":
        drops = " and ".join(
            f"{r['plate_v']} V at {number(r, 'plate_a') * 1e3:g} mA" for r in rows if r["use"] == "fit"
        )
        return "rectifier", {"perveance": rounded(rectifier_perveance(rows))}, f"drop of {drops}", []
    law = "triode" if "triode" in kind else "pentode"
    problem = problem_of(data)
    params = {n: rounded(v) for n, v in problem.solve(problem.starts(problem.center, STARTS)).items()}
    left_out = [rounded(error, 3) for error in left_out_power(data, params)]
    if law == "triode":
        params = TRIODE_PLAIN | params
    accuracy = summary(figures(params, rows), rows, (*QUANTITIES, SCREEN_MU))
    if problem.stages:
        gain = coupled_figures(params, problem.stages)["gain"] / problem.gains - 1.0
        accuracy += f"; gain of coupled stages {100.0 * float(np.sqrt(np.mean(gain**2))):.1f} % rms of {len(gain)}"
    if problem.driven:
        accuracy += "; full drive: " + summary(driven_figures(params, problem.driven), problem.driven, DRIVEN)
    share = GRID_GAIN_SHARE[f"{law}, power 1.2" if name in POWERS else law]
    grid_gain = GRID_GAIN.get(name, rounded(share * params["k"], 2))
    return law, params | {"kvb": KVB[law], "grid_gain": grid_gain}, accuracy, left_out


def rounded(value: float, digits: int = 5) -> float:
    """Return the value to so many figures."""
    return float(f"{value:.{digits}g}")


LABELS = {"plate_a": "plate current", "screen_a": "screen current", "gm_s": "gm", "rp_ohm": "rp",
          "screen_mu": "screen factor", "cathode_a": "cathode current", "power_w": "output"}  # fmt: skip


def summary(said: dict[str, Floats], rows: list[Row], quantities: tuple[str, ...]) -> str:
    """Return rms and worst error of each quantity over the fitted rows better than 'low'."""
    texts = []
    for quantity in quantities:
        used = [i for i, r in enumerate(rows) if quantity in r and counts(r)]
        if used:
            error = np.array([100.0 * (said[quantity][i] / number(rows[i], quantity) - 1.0) for i in used])
            rms, worst = float(np.sqrt(np.mean(error**2))), error[np.argmax(np.abs(error))]
            texts.append(f"{LABELS[quantity]} {rms:.1f} % rms, {worst:+.1f} % worst of {len(used)}")
    return "; ".join(texts)


def counts(row: Row) -> bool:
    """Return whether a row is one the law is held to: fitted, of a sheet, not from a dim memory."""
    return row["use"] == "fit" and row["confidence"] != "low" and row["source"] != "knee"


def law_text(law: str, params: Params, accuracy: str, left_out: list[float]) -> str:
    """Return the [law] table."""
    lines = ["[law]", f'kind = "{law}"', *(f"{name} = {value!r}" for name, value in params.items())]
    rows = "the published drops" if law == "rectifier" else 'the published rows with use = "fit" or "disputed"'
    lines += [f"source = 'fit:tools/fit_tube.py to {rows}'", f'accuracy = "{accuracy}"']
    if left_out:
        lines.append(f"left_out_power = {left_out!r}")
    return "\n".join([*lines, ""])


def main(arguments: list[str]) -> int:
    """Fit the types named, or all; return 1 if --check found a file that would change."""
    wanted = [a.casefold() for a in arguments if not a.startswith("-")]
    changed = False
    for file in sorted(DATA.glob("*.toml")):
        if wanted and file.stem not in wanted:
            continue
        text = file.read_text(encoding="utf-8")
        law, params, accuracy, left_out = law_of(tomllib.loads(text))
        new = text.partition("\n[law]\n")[0].rstrip("\n") + "\n\n" + law_text(law, params, accuracy, left_out)
        print(f"{file.stem}: {accuracy}", f"left out: {left_out}" if left_out else "")
        if new != text:
            changed = True
            if "--check" not in arguments:
                file.write_text(new, encoding="utf-8")
    return int(changed and "--check" in arguments)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
