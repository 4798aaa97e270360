"""Fault tracing on a build that stands on the bench: readings in, suspects and the next reading out."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from lugwright.bringup.charted import Charts, step_named
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.fed_limits import AC, DC, ReadVolts, Seen, by_feed, read_volts
from lugwright.bringup.lamp_reading import BEHIND, LAMP, WORDS
from lugwright.bringup.ohms_chart import AS_IN_FILE
from lugwright.bringup.reading_text import YES_FROM
from lugwright.bringup.reading_words import SIGN, reading_from_words
from lugwright.bringup.results import JudgedReading, again_words
from lugwright.bringup.signs import sign_named, signs_of
from lugwright.bringup.trace.bench import FINAL, OHMS, TraceBench
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.look_probes import lamp_of, lamps_of, look_of, looks_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.reading_noise import MODEL, meter_error
from lugwright.bringup.trace.records import Probe, Taken
from lugwright.bringup.trace.report import Words
from lugwright.bringup.trace.tracer import Tracer
from lugwright.bringup.trace_results import SignWords, Tracing
from lugwright.buildfile.build import Tube
from lugwright.circuit.points import joint_of
from lugwright.documents.drawings.suspects import suspects_svg
from lugwright.errors import LugwrightError, NoSuchPoint, ReadingError, TraceError
from lugwright.log.measured_bodies import ReadingBody
from lugwright.second_process import Helper
from lugwright.workflow.files import write_whole
from lugwright.workflow.opened import Opened
from lugwright.workflow.readings import SaidReading, read_in, seen_of
from lugwright.workflow.seeing import SaidSign, signs_in

MARKED_FROM = 0.05  # chance of a suspect whose places are drawn
MARKED = 3  # suspects, and faults of each, whose places are drawn
OTHER_STEP_S = 60.0  # switch off, wait, discharge, change tubes, switch on, warm up
_SAME_CIRCUIT = {"earth": OHMS, "hot": FINAL}  # steps in which the circuit is that of another
_JUDGED_ALONE = ("earth", "polarity")  # steps whose own readings say nothing of the faults on the list
_ON_THE_GLASS = ("type ", "exchanged ")  # faults that are read there, by their keys
_OF_THE_WIRING = ("bench", "faults", "predictor", "tracer", "words")  # answers that no reading changes
MOST_READINGS = 1000  # more than that is no tracing but a log of another kind


@dataclass(frozen=True, eq=False)
class FaultBench:
    """A build whose faults are looked for; solved once, asked as often as there are readings."""

    opened: Opened
    taken: list[Taken] = field(default_factory=list)  # the readings that are weighed
    left_out: list[str] = field(default_factory=list)  # readings that cannot be weighed, and why
    unweighed: list[Seen] = field(default_factory=list)  # those of them that the charts may know

    @cached_property
    def bench(self) -> TraceBench:
        """Return the build with its plan, ready for every step."""
        return TraceBench(self.opened.build, self.opened.circuit, self.opened.plan, self.opened.solved)

    @cached_property
    def charts(self) -> Charts:
        """Return the charts, which know the points and steps of this build by name."""
        return self.opened.charts

    @cached_property
    def faults(self) -> Mapping[str, Fault]:
        """Return the fault list by its keys, without what somebody has looked for on the glass of a tube."""
        found = faults_of(self.opened.build, self.opened.circuit, self.opened.plan)
        return {
            f.key: f for f in found if not (f.key.startswith(_ON_THE_GLASS) and self.right_tubes & set(f.key.split()))
        }

    @cached_property
    def right_tubes(self) -> frozenset[str]:
        """Return the tubes whose type was read off the glass, and is that of the build file."""
        if self.opened.as_stated:
            return frozenset()
        tubes = self.opened.bench_log.bench.tubes
        parts = self.opened.written.part_by_name
        types = {name: parts[name].values for name in tubes if name in parts}
        return frozenset(
            name for name, tube in types.items() if isinstance(tube, Tube) and tube.type.name == tubes[name].body.type
        )

    @cached_property
    def predictor(self) -> Predictor:
        """Return the faults ready to be solved in every step."""
        hypotheses = hypotheses_of(self.opened.circuit, self.faults.values())
        return Predictor(self.bench, probes_of(self.bench), hypotheses)

    @cached_property
    def tracer(self) -> Tracer:
        """Return the faults ready to be held against readings."""
        return Tracer(self.predictor)

    @cached_property
    def words(self) -> Words:
        """Return what verdicts are put into words with."""
        titles = {key: step.title for key, step in self.bench.steps.items()}
        signs = self.predictor.signs.by_name
        return Words(self.faults, self.opened.work_order, titles, self.predictor.slips.ways, signs)

    def take_logged(self) -> None:
        """Take the readings of the log that count; what cannot be weighed is noted in ``left_out``."""
        alone: Counter[str] = Counter()
        for taken in self.opened.bench_log.bench.counting.values():
            try:
                self.taken.append(self.of_body(taken.body))
            except (NoSuchPoint, ReadingError, TraceError) as error:
                if isinstance(error, TraceError) and not taken.body.condition:
                    self.unweighed.append(seen_of(taken.body))
                if taken.body.step in _JUDGED_ALONE or taken.body.step.endswith(BEHIND):
                    alone[taken.body.step] += 1
                else:
                    self.left_out.append(f"{taken.body.step}: {self._point(taken.body)}: {error.found}")
        for step in self.charts.steps:
            if step.key in alone:
                readings = "1 reading" if alone[step.key] == 1 else f"{alone[step.key]} readings"
                why = (
                    "behind the lamp only the lamp is weighed"
                    if step.key.endswith(BEHIND)
                    else "judged by the step itself"
                )
                self.left_out.append(f"{step.words}: {readings}; {why}")

    def said(self, text: str, step: str) -> Taken:
        """Return a reading in words: ``V1 pin 6 = 203 V``, with the step before a colon or as given.

        Raises
        ------
        ReadingError
            It cannot be understood.
        NoSuchPoint
            The build has no such point.
        TraceError
            It says nothing that tracing can weigh.
        """
        point, equals, value = text.partition("=")
        head, colon, rest = point.partition(":")
        if colon:
            step, point = head.strip(), rest
        if not equals or not point.strip() or not value.strip():
            raise TraceError(
                what=f"{text[:60]!r} is no reading",
                found="no point and value with a sign of equality between them" if not equals else "half of one",
                wanted='a point and what the meter shows there: "V1 pin 6 = 203 V", or "ohms: V1 pin 6 = 98k"',
                do="write point = value",
            )
        charted = step_named(step or OHMS, self.charts.steps)
        return self.of_judged(reading_from_words(self.charts, charted, point.strip(), value.strip()))

    def take(self, text: str, step: str, *, write: bool = False) -> None:
        """Take a reading in words, as `said`; with ``write`` into the log too, where the latest of a point counts.

        Raises
        ------
        LugwrightError
            As `said`; or the log cannot be written.
        """
        taken = self.said(text, step)
        if write:
            point, _, value = text.partition("=")
            _, colon, rest = point.partition(":")
            step = taken.probe.step + (BEHIND if taken.probe.quantity == LAMP else "")
            read_in(self.opened, [SaidReading((rest if colon else point).strip(), value.strip(), step)])
            self.taken[:] = [t for t in self.taken if _place(t.probe) != _place(taken.probe)]
        self.taken.append(taken)

    def signs(self) -> tuple[SignWords, ...]:
        """Return every sign this build may show, and which of them were looked for."""
        told = {taken.probe.red: taken.value >= YES_FROM for taken in self.taken if taken.probe.quantity == SIGN}
        titles = {key: step.title for key, step in self.bench.steps.items()}
        return tuple(
            SignWords(s.name, s.look, p.step, titles[p.step], told.get(s.name), s.harm)
            for s, p in ((sign, look_of(self.bench, sign)) for sign in signs_of(self.opened.build))
        )

    def see(self, sign: str, *, seen: bool = True, write: bool = False) -> None:
        """Take a sign that was looked for: seen, or not; of one sign the last answer counts.

        Raises
        ------
        ReadingError
            The build has no such sign.
        LogError
            It cannot be written into the log.
        """
        probe = look_of(self.bench, sign_named(sign, signs_of(self.opened.build)))
        if write:
            signs_in(self.opened, [SaidSign(probe.red, seen)])
        self.taken[:] = [t for t in self.taken if _place(t.probe) != _place(probe)]
        self.taken.append(Taken(probe, float(seen), 0.0))

    def step_key(self, text: str) -> str:
        """Return the key of a step by its number, key or title; ReadingError where there is none."""
        return str(step_named(text, self.charts.steps).key)

    def of_judged(self, reading: JudgedReading) -> Taken:
        """Return a reading that was understood, ready to be weighed."""
        if reading.quantity == LAMP:
            return self._lamp(reading.step, reading.value, reading.digit)
        _as_the_file_sets_it(reading.point, reading.condition)
        return self._taken(reading.step, reading.red, reading.black, reading.quantity, reading.value, reading.point)

    def of_body(self, body: ReadingBody) -> Taken:
        """Return a reading of the log, ready to be weighed."""
        if body.quantity == SIGN:
            return Taken(look_of(self.bench, sign_named(body.red, signs_of(self.opened.build))), body.shown, 0.0)
        if body.quantity == LAMP:
            return self._lamp(body.step, body.shown, body.digit)
        words = self._point(body)
        _as_the_file_sets_it(words, body.condition)
        return self._taken(body.step, body.red, body.black, body.quantity, body.shown, words)

    def _point(self, body: ReadingBody) -> str:
        """Return where a reading of the log was taken: as the charts call it, else as it was written down."""
        with suppress(NoSuchPoint):
            return self.charts.place(body.step, red=body.red, black=body.black).words
        return body.words.rpartition(" = ")[0] or body.words or f"{body.red} to {body.black}"

    def tracing(self, *, at: str = "", count: int = 3, helper: Helper | None = None) -> Tracing:
        """Return what the readings say.

        Parameters
        ----------
        at : str
            Key of the step the build has reached; "": the latest that something was read in.
        count : int
            How many next readings to propose.
        helper : Helper, optional
            A second process that waits to be asked; without it one is started where there is much to solve.

        Returns
        -------
        Tracing
            In words.

        Raises
        ------
        TraceError
            There are too many readings, or one cannot be weighed.

        Source
        ------
        `lugwright.bringup.trace`.
        """
        taken = self.taken
        if len(taken) > MOST_READINGS:
            raise TraceError(
                what="there are too many readings to be weighed",
                found=f"{len(taken)} readings",
                wanted=f"at most {MOST_READINGS}, each of another point or step",
                do="take back those that do not belong to this fault: lugwright read FILE --take-back",
            )
        candidates = self._candidates(taken, at)
        looked_at = (p for p in candidates if p.quantity == SIGN and p.step == FINAL)  # hum is computed for all
        self.predictor.solve_for((*(t.probe for t in taken), *(lamp_of(p.step) for p in looked_at)), helper)
        verdict = self.tracer.verdict(taken, candidates, count=count)
        burns, again = self._by_chart(taken)
        live, burns = bool(burns or again), verdict.switch_off or burns
        if burns and any(probe.step != OHMS for probe in candidates):
            candidates = {probe: cost for probe, cost in candidates.items() if probe.step == OHMS}
            verdict = self.tracer.verdict(taken, candidates, count=count)
        found = self.words.tracing(replace(verdict, switch_off=burns), taken, candidates)
        return replace(found, again=again, plug_in=live)

    def _by_chart(self, taken: Sequence[Taken]) -> tuple[str, str]:
        """Return what burns at one of the readings by its chart, whatever explains it, and what to read again.

        Readings that cannot be weighed, such as those behind the limiter lamp, burn no less.
        """
        weighed = ((t.probe.step, t.probe.red, t.probe.black, t.probe.quantity, t.value) for t in taken)
        live = [each for each in (*self.unweighed, *weighed) if each[3] in (DC, AC)]
        if not live:
            return "", ""
        volts = read_volts(self.charts, live)
        found = [self._at_reading(*each, volts=volts) for each in live]
        return next((burns for burns, _ in found if burns), ""), next((again for _, again in found if again), "")

    def _at_reading(
        self, step: str, red: str, black: str, quantity: str, value: float, *, volts: ReadVolts
    ) -> tuple[str, str]:
        found = None
        with suppress(NoSuchPoint):
            found = self.charts.row(step, self.charts.place(step, red=red, black=black), quantity)
        if found is None or found[0].low <= value * found[1] <= found[0].high:
            return "", ""  # no limit lies inside a window
        row, sign = found
        burns, doubt = by_feed(row, value * sign, step=step, volts=volts, off=False)
        return burns, again_words(row.stop_feed, doubt)

    def work_ahead(self) -> Iterator[None]:
        """Work out, a piece at a time, what the next reading will ask for: while nobody waits for an answer.

        The step behind the latest one comes last. Where something has no answer it ends: who asks is told why.
        """
        keys = list(self.bench.steps)
        reached = max((keys.index(t.probe.step) for t in self.taken), default=0)
        later = [probe for probe in self.predictor.probes if probe.step in keys[reached + 1 : reached + 2]]
        with suppress(LugwrightError):
            yield from self.tracer.ahead.pieces(later)

    def _candidates(self, taken: Sequence[Taken], at: str) -> dict[Probe, float]:
        """Return what may be read or looked for next: nothing in a step not reached yet, and its cost. [s]"""
        keys = list(self.bench.steps)
        reached = [keys.index(t.probe.step) for t in taken]
        if at:
            reached.append(keys.index(at) if at in keys else 0)
        here = taken[-1].probe.step if taken else at or OHMS
        allowed = set(keys[: max(reached, default=0) + 1])
        as_here = {here, *keys[1 : keys.index(here)]} if here in keys else {here}  # what showed before still does
        return {
            probe: probe.effort
            + probe.risk
            + (0.0 if probe.step == here or (probe.quantity == SIGN and probe.step in as_here) else OTHER_STEP_S)
            for probe in (*self.predictor.probes, *lamps_of(self.bench), *looks_of(self.bench))
            if probe.step in allowed
        }

    def _lamp(self, step: str, share: float, width: float) -> Taken:
        """Return how bright the lamp was; by the eye it may be anything that is called so."""
        probe = lamp_of(step)
        if probe not in lamps_of(self.bench):
            raise _not_weighed(WORDS, f"step {step!r}", "a step behind the lamp whose faults are computed")
        return Taken(probe, share, max(width / math.sqrt(12.0), meter_error(LAMP, share)))

    def _taken(self, step: str, red: str, black: str, quantity: str, value: float, words: str) -> Taken:
        step = _SAME_CIRCUIT.get(step, step)
        if step not in self.bench.steps:
            known = "; ".join(self.bench.steps)
            raise _not_weighed(words, f"step {step!r}", f"a step whose faults are computed: {known}")
        if quantity not in MODEL:
            raise _not_weighed(words, f"{quantity}", "ohms, direct or alternating volts")
        probe = Probe(step, self._key(red), self._key(black), quantity, words, 0.0, 0.0)
        return Taken(probe, value, meter_error(quantity, value))

    def _key(self, key: str) -> str:
        """Return a terminal of the plan, or the joint of a terminal that the plan does not have."""
        known = {*self.bench.circuit.joints, self.bench.circuit.ground}
        found = key if key in self.opened.plan.terminals else joint_of(self.opened.written, key)
        if self.bench.joint_of(found) not in known:
            raise _not_weighed(key, "nothing of the circuit ends there", "a point that a part or wire ends on")
        return found


def _place(probe: Probe) -> tuple[str, ...]:
    return probe.step, probe.red, probe.black, probe.quantity


def _as_the_file_sets_it(words: str, condition: str) -> None:
    """Raise TraceError for a reading with a control somewhere else: the faults are computed with it where it stands."""
    if condition not in ("", AS_IN_FILE):
        raise _not_weighed(words, f"read with {condition}", "controls where the build file or the log sets them")


def _not_weighed(what: str, found: str, wanted: str) -> TraceError:
    return TraceError(
        what=f"{what} cannot be weighed against the faults",
        found=found,
        wanted=wanted,
        do="leave it out of tracing; it stays in the log",
    )


def fault_bench(opened: Opened, *, before: FaultBench | None = None) -> FaultBench:
    """Return an opened build, ready for tracing, without readings.

    ``before`` is one of the same build: what it has worked out is taken over where its circuit and plan still hold.

    Raises
    ------
    PlanError
        There is no plan, so nobody knows how it is wired.
    """
    bench = FaultBench(opened)
    alike = before is not None and before.opened.circuit is opened.circuit and before.opened.plan is opened.plan
    if before is not None and alike and before.right_tubes == bench.right_tubes:
        bench.__dict__.update({name: before.__dict__[name] for name in _OF_THE_WIRING if name in before.__dict__})
    return bench


def write_suspects(bench: FaultBench, found: Tracing, path: Path) -> None:
    """Draw the wiring side with the terminals of the likeliest suspects marked.

    Raises
    ------
    FileAccessError
        The file cannot be written.
    """
    write_whole(path, suspects_drawing(bench, found).encode())


def suspects_drawing(bench: FaultBench, found: Tracing) -> str:
    """Return the wiring side with the terminals of the likeliest suspects marked, as SVG."""
    keys = [
        fault.key
        for suspect in found.suspects[:MARKED]
        if suspect.chance >= MARKED_FROM
        for fault in suspect.faults[:MARKED]
    ]
    faults = [bench.faults[key] for key in keys]
    terminals = tuple(dict.fromkeys(t for fault in faults for t in fault.terminals))
    names = {f.part for f in faults if f.part} | {f"W{number}" for f in faults for number in f.wires}
    opened = bench.opened
    return suspects_svg(
        opened.build, opened.plan, opened.hardware, opened.work_order, terminals=terminals, names=names
    )  # fmt: skip
