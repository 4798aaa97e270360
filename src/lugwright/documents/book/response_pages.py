"""Small signals in the book: response, tone controls, stages, feedback, swings, hiss."""

from __future__ import annotations

from lugwright.circuit.audio import PRIMARY_F, SOCKET_F, WIRING_F
from lugwright.circuit.loudspeaker import COIL_H_PER_OHM
from lugwright.documents.book.blocks import Block, Figure, Heading, Paragraph, Section
from lugwright.documents.book.response_tables import (
    hiss_table,
    knob_table,
    pole_table,
    stage_gain_table,
    summary_table,
)
from lugwright.documents.drawings.response_chart import response_charts
from lugwright.quantities import with_unit
from lugwright.solve.response_results import AmplifierResponse, Hiss, LoopGain

MOST_POLES = 5
LEAST_SHARE = 0.02
MOST_MM = 74.0


def response_pages(response: AmplifierResponse) -> Section:
    """Return what small signals tell of the amplifier."""
    figures = {c.name: Figure(c.name.replace("_", "-"), c.svg, c.caption, MOST_MM) for c in response_charts(response)}
    knobs = knob_table(response)
    blocks: list[Block] = [
        Paragraph(
            "Small signals at idle, knobs as in the build file, the loudspeaker as a load with its resonance. "
            "Above 100 kHz the leads decide, and no circuit shows them."
        ),
        Paragraph(assumed_words()),
        summary_table(response),
        *(figures[name] for name in ("response_gain", "response_tone") if name in figures),
        *([knobs] if knobs.rows else []),
        Heading("Stages at 1 kHz"),
        Paragraph("Levels are against the input; a tube without one is driven by itself."),
        stage_gain_table(response),
    ]
    if response.loop is not None:
        words = f"{loop_words(response.loop)} {margin_words(response.loop)}".strip()
        blocks += [Heading("Feedback"), Paragraph(words), figures["response_loop"]]
    if response.poles.poles:
        blocks += [Heading("Coming to rest"), Paragraph(_POLES), pole_table(response.poles, most=MOST_POLES)]
    blocks += [Heading("Hiss"), Paragraph(hiss_words(response.hiss, response.hiss_source)),
               hiss_table(response, least_share=LEAST_SHARE)]  # fmt: skip
    return Section("response", "Response, feedback and hiss", tuple(blocks), follows=True)


_POLES = (
    "How the amplifier comes to rest after a knock: the swings that last longest first. Damping 1 does not swing, 0 "
    "never ends, and one that grows oscillates."
)


def assumed_words() -> str:
    """Return the figures that stand behind every number of the section and that no part bears on it."""
    socket, wiring, primary = (with_unit(f, "F", figures=n) for f, n in ((SOCKET_F, 1), (WIRING_F, 1), (PRIMARY_F, 3)))
    return (
        f"Assumed, from memory: {socket} between the contacts of a socket, {wiring} of wiring at each plate and grid, "
        f"{primary} across each part of the output transformer's primary, a loudspeaker with "
        f"{with_unit(COIL_H_PER_OHM, 'H', figures=1)} for each of its ohms."
    )


def loop_words(loop: LoopGain) -> str:
    """Return in a sentence what comes back, and what it does."""
    way = f"From {loop.origin} through {' and '.join(loop.parts)} back to {loop.joint}"
    if loop.positive:
        return f"{way}: {-loop.reduction_db:.1f} dB more gain at 1 kHz. It adds."
    return f"{way}: {loop.reduction_db:.1f} dB less gain at 1 kHz, and about as much less distortion."


def margin_words(loop: LoopGain) -> str:
    """Return what is left before the loop oscillates, at its worst places."""
    phases = [m for m in loop.margins if m.phase_deg is not None]
    gains = [m for m in loop.margins if m.gain_db is not None]
    words = []
    if phases:
        least = min(phases, key=lambda m: m.phase_deg or 0.0)
        words.append(f"{least.phase_deg:.0f}° at {with_unit(least.hertz, 'Hz', figures=2)}")
    if gains:
        least = min(gains, key=lambda m: m.gain_db or 0.0)
        words.append(f"{least.gain_db:.0f} dB at {with_unit(least.hertz, 'Hz', figures=2)}")
    return f"Left before it oscillates: {' and '.join(words)}." if words else ""


def hiss_words(hiss: Hiss, source: str) -> str:
    """Return in a sentence how loud the hiss is."""
    words = (
        f"{with_unit(hiss.volts, 'V')} at {hiss.output} from {hiss.low_hz:.0f} Hz to {hiss.high_hz / 1e3:.0f} kHz, "
        f"{with_unit(hiss.weighted_volts, 'V')} A-weighted; input: {source}."
    )
    if hiss.signal_to_noise_db is not None and hiss.full_power_w is not None:
        words += f" That is {hiss.signal_to_noise_db:.0f} dB below {hiss.full_power_w:.3g} W."
    return f"{words} Resistors and good tubes alone: a real amplifier is rarely quieter."
