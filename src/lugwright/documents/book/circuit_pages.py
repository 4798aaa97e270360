"""The circuit: stages with their idle, idle of every joint, tubes, ratings, findings, parts."""

from __future__ import annotations

from lugwright.buildfile.build import Build, Stage
from lugwright.circuit.operating import Certificate, Idle, JointIdle, Rating
from lugwright.circuit.rules.mains_swing import MainsRow
from lugwright.documents.book.blocks import (
    TICK,
    Block,
    Box,
    Column,
    Figure,
    Heading,
    Paragraph,
    Section,
    Table,
    cell_words,
    with_columns,
)
from lugwright.documents.book.circuit_tables import (
    idle_table,
    mains_table,
    numbered_sources,
    parts_table,
    ratings_table,
    shopping_table,
    stage_table,
    tubes_table,
    windings_table,
)
from lugwright.documents.book.mains_side import METAL, mains_joints
from lugwright.documents.book.records import BookRecords
from lugwright.errors import DocumentError
from lugwright.findings import Finding, Grade, sorted_by_grade

ENLARGED, MOST_MM = 1.6, 230.0  # of a stage's drawing: its words are small, and a wide one is turned
IN_WORDS = "Its volts and its parts are listed below it; what each part is joined to, in the table of every part."
LEAST_AC_V = 1.0  # rms; less is ripple
LEAST_SHARE = 0.05  # of its limit; what is below is in the CSV file only


def certified(idle: Idle) -> Idle:
    """Return an idle whose certificate passed; DocumentError otherwise, so that no number of it is printed."""
    proof = idle.certificate
    if proof.passed:
        return idle
    raise DocumentError(
        what="no book of an idle that does not hold up",
        found=f"{proof.worst_joint} is {proof.left_over_a:.3g} A out",
        wanted=f"less than {proof.allowed_a:.3g} A left over at that joint",
        do=f"look at what meets at {proof.worst_joint}, then make the book again",
    )


def stage_pages(records: BookRecords) -> Section:
    """Return every stage: its drawing and what its parts carry."""
    drawings = {drawing.stage: drawing for drawing in records.stage_drawings}
    blocks: list[Block] = []
    for stage in records.build.stages:
        found: list[Block] = []
        if stage.name in drawings:
            drawing = drawings[stage.name]
            found.append(Figure(f"stage-{stage.name}", drawing.svg, drawing.title, MOST_MM, ENLARGED, IN_WORDS))
        if records.idle is not None:
            table = stage_table(records.build, stage, records.idle)
            found += [*_stage_volts(records.build, stage, records.idle), *([table] if table.rows else [])]
        blocks += [Heading(stage.title or stage.name), *found] if found else []
    return Section("circuit", "The circuit, stage by stage", tuple(blocks))


def _stage_volts(build: Build, stage: Stage, idle: Idle) -> list[Block]:
    """Return the volts of the joints the stage's parts meet in, in file order; the mains is named, never as volts."""
    parts = (part for part in build.parts if part.name in stage.parts or part.stage == stage.name)
    joints = [j for j in dict.fromkeys(t.joint for p in parts for t in p.terminals) if j not in METAL]
    mains = mains_joints(build)
    words = [f"{j} {_joint_words(idle.joints[j])}" for j in joints if j in idle.joints and j not in mains]
    blocks: list[Block] = [Paragraph(f"Volts at idle: {' · '.join(words)}.")] if words else []
    return [*blocks, *_mains_box(build, [joint for joint in joints if joint in mains])]


def _joint_words(reading: JointIdle) -> str:
    """Return volts as a meter is set to read them: alternating ones said wherever direct ones alone would mislead."""
    volts = Column("volts", "V", "number", 2)
    direct = f"{cell_words(volts, reading.volts)}\N{NO-BREAK SPACE}V"
    if reading.ripple_rms_v <= max(LEAST_AC_V, 0.3 * abs(reading.volts)):
        return direct
    alternating = f"{cell_words(volts, reading.ripple_rms_v)}\N{NO-BREAK SPACE}V\N{NO-BREAK SPACE}AC"
    return alternating if abs(reading.volts) < 0.05 * reading.ripple_rms_v else f"{direct} and {alternating}"


def _mains_box(build: Build, joints: list[str]) -> list[Block]:
    words = (
        f"{build.mains_v:g} V. Live with the plug in, those of the neutral too: an outlet wired the wrong way round "
        "makes it the line. With the power switch off, everything before the switch stays live."
    )
    return [Box("danger", f"On the mains: {' · '.join(joints)}", (("", words),))] if joints else []


def idle_pages(build: Build, idle: Idle, swing: tuple[MainsRow, ...] = ()) -> Section:
    """Return volts of every joint, what the windings carry, what the mains gives."""
    mains = f"From the mains: {idle.mains_rms_a:.3f} A, {idle.mains_w:.1f} W."
    if idle.lamp_rms_v is not None:
        mains += f" Across the limiter lamp: {idle.lamp_rms_v:.1f} V."
    blocks: list[Block] = [
        Paragraph("Mains on, no signal, every control as set in the build file. Volts against ground."),
        Paragraph(f"{mains} {_proof(idle.certificate)}"),
    ]
    windings = windings_table(idle)
    blocks += [Heading("Windings"), windings] if windings.rows else []
    blocks += [Heading("Mains 10 % low and high"), mains_table(swing)] if swing else []
    return Section(
        "idle", "Idle", (*blocks, Heading("Joints"), *_mains_box(build, sorted(mains_joints(build))), idle_table(idle))
    )


def _proof(proof: Certificate) -> str:
    return (
        f"Certificate: at most {proof.left_over_a:.1e} A left over at any joint ({proof.worst_joint}; allowed "
        f"{proof.allowed_a:.1e} A), error at most {proof.error_v:.1e} V; power in {proof.power_in_w:.2f} W, out "
        f"{proof.power_out_w:.2f} W."
    )


def tube_pages(build: Build, idle: Idle) -> Section:
    """Return the operating point of every tube."""
    text = "Cold tubes and worn tubes differ; the windows of the power-up charts say by how much a good one may."
    return Section("tubes", "Tubes at idle", (Paragraph(text), tubes_table(build, idle)), follows=True)


def rating_pages(ratings: tuple[Rating, ...], findings: tuple[Finding, ...]) -> Section:
    """Return what was found, worst first, and every figure against its limit."""
    blocks: list[Block] = [Heading("Findings"), *_findings(findings)] if findings or ratings else []
    close = tuple(r for r in ratings if r.share >= LEAST_SHARE)
    if close:
        table, sources = numbered_sources(ratings_table(close))
        blocks += [Heading("Figures against their limits, the tightest first"), table, *_sources(sources)]
    if len(close) < len(ratings):
        count = len(ratings) - len(close)
        blocks.append(Paragraph(f"{count} more, each below {LEAST_SHARE:.0%} of its limit, are in ratings.csv."))
    return Section("ratings", "Ratings and findings", tuple(blocks), follows=True)


def _sources(sources: tuple[str, ...]) -> list[Block]:
    rows = tuple((f"[{k}]", source) for k, source in enumerate(sources, start=1))
    table = Table((Column("no."), Column("source", grow=1)), rows)
    return [Heading("Where the limits come from"), table] if rows else []


def _findings(findings: tuple[Finding, ...]) -> list[Block]:
    if not findings:
        return [Paragraph("Nothing was found: no danger, no fault, no doubt.")]
    tone = {Grade.DANGER: "danger", Grade.FAULT: "stop"}
    return [_finding(f, tone.get(f.grade, "note")) for f in sorted_by_grade(list(findings))]


def _finding(finding: Finding, tone: str) -> Box:
    place = f" ({finding.place})" if finding.place else ""
    entries = [("Found:", finding.found), ("Wanted:", finding.wanted), ("Do:", finding.do)]
    entries += [("Source:", finding.source)] if finding.source else []
    return Box(tone, f"{finding.grade.value.capitalize()}: {finding.what}{place}", tuple(entries))


def part_pages(build: Build) -> Section:
    """Return what to buy, and every part with what it is joined to."""
    blocks = (
        Heading("To buy"),
        with_columns(shopping_table(build), TICK),
        Paragraph("Wire is in the cut list. Screws, grommets, solder and sleeving are not counted."),
        Heading("Every part"),
        Paragraph("Ends are written terminal = joint."),
        parts_table(build),
    )
    return Section("parts", "Parts", blocks)
