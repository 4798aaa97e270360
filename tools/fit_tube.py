"""Fit the law of tube types to the published rows in their data files, and write it there.

    python tools/fit_tube.py            fit every type and rewrite its [law] table
    python tools/fit_tube.py EL84 GZ34  only these
    python tools/fit_tube.py --check    fit, print, write nothing; exit 1 if a file would change

Rows with ``use = "fit"`` enter with their weight, disputed rows with a third of it, ``check`` rows not at all.
Rows of full drive enter as averages over a sine cycle, see `full_drive`.
A residual is ln(law / sheet) over the width below. Starts are drawn from one seed: same rows, same law.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from full_drive import full_drive_figures
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a

DATA = Path(__file__).parents[1] / "src/lugwright/catalogue/data/tubes"
SEED, STARTS = 20, 12
# Relative widths: how far a sheet's figure may be off before it counts.
PLATE_WIDTH = {"read": 0.02, "high": 0.02, "medium": 0.03, "low": 0.20}
KNEE_WIDTH = 0.15  # knee rows are computed from push-pull rows, +/-15 %
CUTOFF_A, CUTOFF_WIDTH = 2e-5, 0.10  # below this a sheet says "approximately"
SCREEN_WIDTH, GM_WIDTH, RP_WIDTH = 0.08, 0.04, 0.06
FULL_WIDTH = {"plate_a": 0.04, "screen_a": 0.20, "power_w": 0.06}  # averages at full drive; idle rows weigh more
DISPUTED = 3.0  # widths of disputed rows are this much larger
# Weak pull toward ordinary values, ln widths: it decides only what the rows leave open.
TRIODE_USUAL = {"mu": (None, 0.3), "k": (1.5e-3, 3.0), "kp": (300.0, 1.5), "vct": (0.5, None),
                "tail_share": (0.03, 1.0), "tail_mu_ratio": (0.6, 0.5)}  # fmt: skip
PENTODE_USUAL = {"mu": (9.0, 0.7), "k": (1.5e-3, 3.0), "kp": (40.0, 1.0), "vct": (1.0, None), "rho": (0.08, 0.7),
                 "slope": (3e-4, 1.0), "alpha_s": (6.0, 0.7), "beta": (0.08, 0.6)}  # fmt: skip
VCT_WIDTH = 1.0  # volts
PULL = 0.15  # strength of that pull
TRIODE_BOUNDS = {"mu": (5, 150), "k": (1e-5, 1e-1), "kp": (5, 5000), "vct": (-0.5, 2.0), "tail_share": (1e-4, 0.3),
                 "tail_mu_ratio": (0.2, 1.0)}  # fmt: skip
PENTODE_BOUNDS = {"mu": (4, 40), "k": (1e-5, 1e-1), "kp": (3, 3000), "vct": (-0.5, 5.0), "rho": (0.01, 0.4),
                  "slope": (1e-6, 3e-3), "alpha_s": (0.3, 60), "beta": (0.005, 1.0)}  # fmt: skip
KVB = {"triode": 300.0, "pentode": 20.0}
GRID_GAIN = {"12AX7": 6e-4, "6L6GC": 1e-3}  # measured; implied by driving powers recalled from a sheet
GRID_GAIN_SHARE = {"triode": 0.5, "pentode": 0.8}  # of k, for all others, +/-50 %

Params = dict[str, float]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Target:
    """One published figure: which row, which quantity, its value, its relative width."""

    row: int
    quantity: str  # plate_a, screen_a, gm_s, rp_ohm
    value: float
    width: float
    disputed: bool


def targets_of(rows: list[dict[str, object]]) -> list[Target]:
    """Return every figure that enters the fit."""
    widths = {"gm_s": GM_WIDTH, "rp_ohm": RP_WIDTH, "screen_a": SCREEN_WIDTH}
    found = []
    for number, row in enumerate(rows):
        if row["use"] == "check":
            continue
        more = DISPUTED if row["use"] == "disputed" else 1.0
        for quantity in ("plate_a", "screen_a", "gm_s", "rp_ohm"):
            if quantity in row:
                value = float(row[quantity])  # type: ignore[arg-type]
                width = widths.get(quantity) or _plate_width(row, value)
                found.append(Target(number, quantity, value, width * more, more > 1))
    return found


def _plate_width(row: dict[str, object], value: float) -> float:
    if row["source"] == "knee":
        return KNEE_WIDTH
    if row["source"] == "chart":
        return 0.03 + 5e-5 / value  # a chart is read to about 0.05 mA
    return CUTOFF_WIDTH if value <= CUTOFF_A else PLATE_WIDTH[str(row["confidence"])]


def triode_figures(p: Params, rows: list[dict[str, object]]) -> dict[str, Floats]:
    """Return what the law says at every row of a triode."""
    plate, grid = (np.array([float(r[n]) for r in rows]) for n in ("plate_v", "grid_v"))  # type: ignore[arg-type]
    law = {"tail_share": 0.0, "tail_mu_ratio": 1.0, "kvb": KVB["triode"]} | p
    current, conductance, gm = triode_plate_current_a(plate, grid, **law)
    return {"plate_a": current, "gm_s": gm, "rp_ohm": 1.0 / conductance}


def pentode_figures(p: Params, rows: list[dict[str, object]]) -> dict[str, Floats]:
    """Return what the law says at every row of a pentode; triode-connected rows add plate and screen."""
    plate, screen, grid = (np.array([float(r[n]) for r in rows]) for n in ("plate_v", "screen_v", "grid_v"))  # type: ignore[arg-type]
    tied = np.array([r.get("connection") == "triode" for r in rows])
    c = pentode_currents_a(plate, screen, grid, kvb=KVB["pentode"], **p)
    total = c.plate_by_plate + c.plate_by_screen + c.screen_by_plate + c.screen_by_screen
    return {
        "plate_a": c.plate_a + tied * c.screen_a,
        "screen_a": c.screen_a,
        "gm_s": c.plate_by_grid + tied * c.screen_by_grid,
        "rp_ohm": 1.0 / np.where(tied, total, c.plate_by_plate),
    }


def fit(
    figures: Callable[[Params, list[dict[str, object]]], dict[str, Floats]],
    rows: list[dict[str, object]],
    *,
    usual: dict[str, tuple[float | None, float | None]],
    bounds: dict[str, tuple[float, float]],
    driven: list[dict[str, object]],
) -> Params:
    """Return the parameters with the least sum of squared residuals over all starts."""
    names, targets = list(usual), targets_of(rows)
    logged = np.array([n != "vct" for n in names])
    to_params = lambda x: dict(zip(names, np.where(logged, np.exp(x), x).tolist(), strict=True))  # noqa: E731
    to_x = lambda v: np.array([np.log(v[n]) if n != "vct" else v[n] for n in names])  # noqa: E731
    low = to_x({n: b[0] for n, b in bounds.items()})
    high = to_x({n: b[1] for n, b in bounds.items()})
    sheet_mu = [float(r["mu"]) for r in rows if "mu" in r]  # type: ignore[arg-type]
    center = to_x({n: float(np.mean(sheet_mu)) if u[0] is None else u[0] for n, u in usual.items()})
    width = np.array([VCT_WIDTH if u[1] is None else u[1] for u in usual.values()])
    index = {q: [t.row for t in targets if t.quantity == q] for q in ("plate_a", "screen_a", "gm_s", "rp_ohm")}
    ordered = [t for q in index for t in targets if t.quantity == q]
    value, spread = (np.array([getattr(t, n) for t in ordered]) for n in ("value", "width"))

    def residuals(x: Floats) -> Floats:
        p = to_params(x)
        said = figures(p, rows)
        law = np.concatenate([said[q][i] for q, i in index.items() if i])
        feasible = max(0.0, p["rho"] * (1.0 + p["alpha_s"]) - 1.0) * 100.0 if "rho" in p else 0.0
        return np.concatenate(
            [np.log(law / value) / spread, driven_residuals(p, driven), PULL * (x - center) / width, [feasible]]
        )

    random = np.random.default_rng(SEED)
    starts = [center, *(center + random.normal(0.0, 0.6, (STARTS, len(names))) * np.minimum(width, 0.8))]
    inside = [np.clip(x, low + 1e-6, high - 1e-6) for x in starts]
    tries = [least_squares(residuals, x, bounds=(low, high), xtol=1e-12, ftol=1e-12, max_nfev=2000) for x in inside]
    return to_params(min(tries, key=lambda t: (round(float(t.cost), 6), t.x.tolist())).x)


def driven_figures(p: Params, driven: list[dict[str, object]]) -> dict[str, Floats]:
    """Return what the law says at every full-drive row."""
    return full_drive_figures(lambda a, s, g: pentode_currents_a(a, s, g, kvb=KVB["pentode"], **p), driven)


def driven_residuals(p: Params, driven: list[dict[str, object]]) -> Floats:
    """Return the residuals of the full-drive rows."""
    if not driven:
        return np.zeros(0)
    said = driven_figures(p, driven)
    pairs = [(said[q][n] / float(row[q]), w) for q, w in FULL_WIDTH.items() for n, row in enumerate(driven) if q in row]  # type: ignore[arg-type]
    return np.array([np.log(max(ratio, 1e-9)) / w for ratio, w in pairs])


def rectifier_perveance(rows: list[dict[str, object]]) -> float:
    """Return the perveance through the published drops: their geometric mean where sheets differ."""
    drops = [(float(r["plate_v"]), float(r["plate_a"])) for r in rows if r["use"] == "fit"]  # type: ignore[arg-type]
    return float(np.exp(np.mean([np.log(amps / volts**1.5) for volts, amps in drops])))


def law_of(data: dict[str, object]) -> tuple[str, Params, str]:
    """Return the kind of law, its parameters, and how well it meets the rows it was fitted to."""
    rows: list[dict[str, object]] = data["published"]  # type: ignore[assignment]
    name, kind = str(data["name"]), str(data["kind"])
    if kind == "rectifier":
        drops = " and ".join(f"{r['plate_v']} V at {float(r['plate_a']) * 1e3:g} mA" for r in rows if r["use"] == "fit")  # type: ignore[arg-type]
        return "rectifier", {"perveance": rounded(rectifier_perveance(rows))}, f"drop of {drops}"
    law = "triode" if "triode" in kind else "pentode"
    figures = triode_figures if law == "triode" else pentode_figures
    usual, bounds = (TRIODE_USUAL, TRIODE_BOUNDS) if law == "triode" else (PENTODE_USUAL, PENTODE_BOUNDS)
    if law == "triode" and not any(r["use"] == "fit" and float(r["plate_a"]) <= CUTOFF_A for r in rows):  # type: ignore[arg-type]
        usual = {n: u for n, u in usual.items() if not n.startswith("tail")}
        bounds = {n: b for n, b in bounds.items() if n in usual}
    driven: list[dict[str, object]] = data.get("full_drive", [])  # type: ignore[assignment]
    params = {n: rounded(v) for n, v in fit(figures, rows, usual=usual, bounds=bounds, driven=driven).items()}
    if law == "triode":
        params = params | {n: params.get(n, d) for n, d in (("tail_share", 0.0), ("tail_mu_ratio", 1.0))}
    accuracy = summary(figures(params, rows), rows)
    if driven:
        accuracy += "; full drive: " + driven_summary(driven_figures(params, driven), driven)
    gain = GRID_GAIN.get(name, rounded(GRID_GAIN_SHARE[law] * params["k"], 2))
    return law, params | {"kvb": KVB[law], "grid_gain": gain}, accuracy


def rounded(value: float, figures: int = 5) -> float:
    """Return the value to so many figures."""
    return float(f"{value:.{figures}g}")


def summary(said: dict[str, Floats], rows: list[dict[str, object]]) -> str:
    """Return rms and worst error of each quantity over the undisputed rows better than 'low'."""
    texts = []
    for quantity, label in (
        ("plate_a", "plate current"),
        ("screen_a", "screen current"),
        ("gm_s", "gm"),
        ("rp_ohm", "rp"),
    ):
        used = [i for i, r in enumerate(rows) if quantity in r and _counts(r)]
        if used:
            error = np.array([100.0 * (said[quantity][i] / float(rows[i][quantity]) - 1.0) for i in used])  # type: ignore[arg-type]
            rms, worst = float(np.sqrt(np.mean(error**2))), error[np.argmax(np.abs(error))]
            texts.append(f"{label} {rms:.1f} % rms, {worst:+.1f} % worst of {len(used)}")
    return "; ".join(texts)


def driven_summary(said: dict[str, Floats], driven: list[dict[str, object]]) -> str:
    """Return rms and worst error of the full-drive figures."""
    texts = []
    for quantity, label in (("plate_a", "plate current"), ("screen_a", "screen current"), ("power_w", "output")):
        used = [n for n, row in enumerate(driven) if quantity in row]
        error = np.array([100.0 * (said[quantity][n] / float(driven[n][quantity]) - 1.0) for n in used])  # type: ignore[arg-type]
        rms, worst = float(np.sqrt(np.mean(error**2))), error[np.argmax(np.abs(error))]
        texts.append(f"{label} {rms:.1f} % rms, {worst:+.1f} % worst of {len(used)}")
    return "; ".join(texts)


def _counts(row: dict[str, object]) -> bool:
    return row["use"] == "fit" and row["confidence"] != "low" and row["source"] not in ("knee",)


def law_text(law: str, params: Params, accuracy: str) -> str:
    """Return the [law] table."""
    lines = ["[law]", f'kind = "{law}"', *(f"{name} = {value!r}" for name, value in params.items())]
    rows = "the published drops" if law == "rectifier" else 'the published rows with use = "fit" or "disputed"'
    lines += [f"source = 'fit:tools/fit_tube.py to {rows}'", f'accuracy = "{accuracy}"', ""]
    return "\n".join(lines)


def main(arguments: list[str]) -> int:
    """Fit the types named, or all; return 1 if --check found a file that would change."""
    wanted = [a.casefold() for a in arguments if not a.startswith("-")]
    changed = False
    for file in sorted(DATA.glob("*.toml")):
        if wanted and file.stem not in wanted:
            continue
        text = file.read_text(encoding="utf-8")
        law, params, accuracy = law_of(tomllib.loads(text))
        new = text.partition("\n[law]\n")[0].rstrip("\n") + "\n\n" + law_text(law, params, accuracy)
        print(f"{file.stem}: {accuracy}")
        if new != text:
            changed = True
            if "--check" not in arguments:
                file.write_text(new, encoding="utf-8")
    return int(changed and "--check" in arguments)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
