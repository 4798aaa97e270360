"""Output power in the book: over drive, harmonics, waveform, headroom, what full drive asks of the supply."""

from __future__ import annotations

from lugwright.circuit.operating import Rating
from lugwright.documents.book.blocks import Block, Figure, Heading, Paragraph, Section
from lugwright.documents.book.power_tables import (
    driven_rating_table,
    harmonic_table,
    limit_table,
    point_table,
    product_table,
    sag_table,
)
from lugwright.documents.drawings.power_chart import power_charts
from lugwright.quantities import with_unit
from lugwright.solve.power_results import NoPower, Power, PowerPoint

MOST_MM = 85.0
LAST_HARMONIC = 10  # printed; all of them are in the CSV
WORTH_SAYING = 0.5  # share of a limit from which a tube is printed
_TITLE = "Output power"
_IN_WORDS = {"power_drive": "The table above says the same.", "power_wave": "Its harmonics stand above."}
_CAUTION = (
    "Measure it with a load on the speaker terminals, never without: a resistor that may take the watts printed here, "
    "on something that does not burn. At full drive the plates swing close to twice B+, and every voltage of the "
    "power-up charts is still there."
)


def power_pages(power: Power | NoPower, ratings: tuple[Rating, ...] = ()) -> Section:
    """Return what a steady signal gets out of the amplifier, or why no figure is printed."""
    if isinstance(power, NoPower):
        words = f"{_sentence(power.what)} Found: {power.found}. Wanted: {power.wanted}. {_sentence(power.do)}"
        return Section("power", _TITLE, (Paragraph(words),), follows=True)
    worth = tuple(rating for rating in ratings if rating.share >= WORTH_SAYING)
    figures = {
        c.name: Figure(c.name.replace("_", "-"), c.svg, c.caption, MOST_MM, instead=_IN_WORDS.get(c.name, ""))
        for c in power_charts(power)
    }
    blocks: list[Block] = [
        Paragraph(
            f"A steady sine of {with_unit(power.hertz, 'Hz')} at {power.jack}, knobs as in the build file, into "
            f"{load_words(power)}; the supply settled to it. {result_words(power)}"
        ),
        Paragraph(_CAUTION),
        point_table(power),
        figures["power_drive"],
        Paragraph(limit_words(power)),
        *([limit_table(power)] if power.limits else []),
        Heading("Harmonics"),
        harmonic_table(power, last=LAST_HARMONIC),
        *([figures["power_wave"]] if "power_wave" in figures else []),
        *([figures["power_band"]] if "power_band" in figures else []),
        Heading("Tubes and supply at full drive"),
        *([driven_rating_table(worth)] if worth else []),
        *([sag_table(power)] if power.idle_b_plus_v else []),
    ]
    if power.intermodulation is not None:
        blocks += [Heading("Two tones"), Paragraph(two_tone_words(power)), product_table(power)]
    blocks.append(Paragraph(certificate_words(power)))
    return Section("power", _TITLE, tuple(blocks), follows=True)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def load_words(power: Power) -> str:
    """Return the load in words."""
    ohm = with_unit(power.load_ohm, "Ω", figures=2)
    return f"a resistor of {ohm}" if power.load == "resistor" else f"the loudspeaker model, {ohm} nominal"


def result_words(power: Power) -> str:
    """Return the power at five and ten percent distortion in a sentence."""
    parts = [
        f"{with_unit(point.watts, 'W')} at {share} distortion with {with_unit(point.drive_rms_v, 'V')}"
        for share, point in (("5 %", power.five_percent), ("10 %", power.ten_percent))
        if point is not None
    ]
    full = power.full_drive
    parts.append(f"{with_unit(full.watts, 'W')} at full drive, {with_unit(full.drive_rms_v, 'V')}")
    return "; ".join(parts) + "."


def limit_words(power: Power) -> str:
    """Return in a sentence which stage runs out of room first."""
    first = power.first_limit
    if first is None:
        return "No stage runs out of room up to full drive."
    return (
        f"First to run out of room: {first.tube}, by {first.how}, from {with_unit(first.drive_rms_v, 'V')} at "
        f"{power.jack} on, {with_unit(first.watts, 'W')} at the speaker."
    )


def two_tone_words(power: Power) -> str:
    """Return in a sentence what two tones were tried and what came of them."""
    found = power.intermodulation
    if found is None:
        return ""
    return (
        f"{with_unit(found.low_hz, 'Hz')} and {with_unit(found.high_hz, 'Hz')}, {with_unit(found.drive_rms_v, 'V')} "
        f"each, {with_unit(found.watts, 'W')} together: all products, harmonics of both counted, are "
        f"{found.total:.1%} of one tone."
    )


def certificate_words(power: Power) -> str:
    """Return in a sentence what stands behind the figures."""
    points: list[PowerPoint] = [*power.points, power.full_drive]
    points += [p for p in (power.five_percent, power.ten_percent) if p is not None]
    certificates = [p.certificate for p in points]
    worst = max(c.left_over for c in certificates)
    balance = max(abs(c.power_in_w / c.power_out_w - 1.0) for c in certificates)
    halved = [c.halved_change for c in certificates if c.halved_change is not None]
    most = max(c.harmonics for c in certificates)
    change = ""
    if halved:
        change = f", and from {most // 2} to {most} harmonics none moves by more than {max(halved):.1g} of the first"
    return (
        f"Certificate: at every drive the volts at each tube close to {worst:.1g} of their peak, power in and power "
        f"out differ by {balance:.1g}{change}."
    )
