"""How fast small signals are answered: each part of the study of each example build.

Run: python benchmarks/bench_response.py. Figures are CPU milliseconds, best of five.
With `sliders` after it: what one step of every slider of a build costs the server, walked from the value as built
upward; half of all steps and 19 of 20 take less than is printed, and the slowest sliders are named. With `hands` the
values are those of bench_hands.py, to and fro over the middle of each slider.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import gc
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from lugwright.buildfile.build import Pot, Resistor
from lugwright.buildfile.read import read_build
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve import by_machine
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.idle import solve_column
from lugwright.solve.poles import amplifier_poles
from lugwright.solve.small_signal import linearized
from lugwright.solve.study import Study
from lugwright.solve.system import System
from lugwright.web.asked.part_trials import trials
from lugwright.web.lanes import surroundings
from lugwright.workflow import ResponseBench, open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))


def best_ms(work: Callable[[], object], times: int = 5) -> float:
    """Return the least CPU time of some runs. [ms]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return 1e3 * min(found)


def main() -> None:
    """Print one line for each example build."""
    print("build        joints  linearize  121 frequencies  poles  whole study  worst pole error  knob  resistor")
    hertz = decade_steps_hz(low=10.0, high=100e3)
    for path in EXAMPLES:
        build = read_build(path).build
        assert build is not None
        system = System(circuit_from_build(build))
        solved = solve_column(system, system.values(()))
        circuit = audio_circuit(build)
        signal = linearized(circuit, solved)
        port = (signal.system.row["V1a.grid"], signal.system.size)
        ways = (
            lambda c=circuit, s=solved: linearized(c, s),
            lambda s=signal, p=port: s.at(hertz).driven([p]),
            lambda s=signal: amplifier_poles(s),
            lambda b=build, s=solved: Study(b, s).response(),
        )
        linear, factored, poles, whole = (best_ms(way) for way in ways)
        error = max((pole.error for pole in amplifier_poles(signal).poles), default=0.0)
        knob, resistor = under_sliders(path)
        print(f"{path.stem:<12} {signal.system.size:>6} {linear:>10.1f} {factored:>16.1f} {poles:>6.1f} {whole:>12.1f}"
              f" {error:>17.1e} {knob:>5.1f} {resistor:>9.1f}")  # fmt: skip


def under_sliders(path: Path) -> tuple[float, float]:
    """Return what one more step of a slider costs: the first labeled knob, the first plate resistor. [ms]"""
    bench = ResponseBench(open_build(path))
    build = bench.opened.written
    knob = next(part.name for part in build.parts if isinstance(part.values, Pot) and part.values.label)
    at_plate = [t.part for t in build.joints["V1a.plate"]]
    load = next(build.part(name) for name in at_plate if isinstance(build.part(name).values, Resistor))
    steps = iter(range(1, 1000))

    def turn() -> None:
        text = f"{knob}={next(steps) / 1000.0:.3f}"
        bench.response([text], text)

    def change() -> None:
        text = f"{load.name}={load.values.ohm * (1.0 + next(steps) / 1000.0):.0f}"
        bench.response([text], text)

    turn()
    change()
    return best_ms(turn), best_ms(change)


WALKED = 8  # steps of a slider
AT_ONCE = 13  # of a hand that goes to and fro


def walked(texts: list[str], at: str | float) -> list[str]:
    """Return the values next to where a slider stands, upward first."""
    start = texts.index(at) + 1 if at in texts else round(100.0 * float(at)) + 1
    return (texts[start:] + texts[:start][::-1])[:WALKED]


def to_and_fro(texts: list[str], _at: str | float) -> list[str]:
    """Return values far from one another, none twice."""
    shares = (0.2 + 0.6 * ((k * 7) % AT_ONCE) / AT_ONCE for k in range(AT_ONCE))
    return list(dict.fromkeys(texts[round(share * (len(texts) - 1))] for share in shares))


def stepped_ms(
    bench: ResponseBench, trial: dict[str, Any], way: Callable[[list[str], str | float], list[str]]
) -> list[float]:
    """Return what each step of one slider costs. [ms]"""
    texts = trial.get("steps") or [f"{k / 100.0:g}" for k in range(101)]
    found = []
    for text in way(texts, trial["at"]):
        change = f"{trial['set']}={text}"
        began = time.process_time()
        bench.response([change], change)
        found.append(1e3 * (time.process_time() - began))
    return found


def every_slider(way: Callable[[list[str], str | float], list[str]]) -> None:
    """Print one line for each example build, worked out as a worker of the bench does it."""
    if surroundings() != {**os.environ, "PYTHONPATH": surroundings()["PYTHONPATH"]}:
        os.execve(sys.executable, [sys.executable, *sys.argv], surroundings())
    by_machine.load()
    gc.collect()
    gc.freeze()
    for path in EXAMPLES:
        bench = ResponseBench(open_build(path))
        bench.response(())
        rows = [
            (trial["set"], stepped_ms(bench, trial, way))
            for part in bench.opened.written.parts
            for trial in trials(part)
            if trial["how"] in ("turn", "steps")
        ]
        steps = sorted(each for _, waits in rows for each in waits)
        half, most = (steps[int(share * len(steps))] for share in (0.5, 0.95))
        slowest = sorted(((max(waits), name) for name, waits in rows), reverse=True)[:6]
        named = ", ".join(f"{name} {worst:.0f}" for worst, name in slowest)
        print(f"{path.stem:<12} {len(rows)} sliders: half {half:.1f} ms, 19 of 20 {most:.1f} ms; slowest {named}")


if __name__ == "__main__":
    ways = [way for name, way in (("sliders", walked), ("hands", to_and_fro)) if name in sys.argv[1:]]
    for way in ways:
        every_slider(way)
    if not ways:
        main()
