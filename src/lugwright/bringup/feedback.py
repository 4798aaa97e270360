"""Whether an amplifier has negative feedback around its output transformer."""

from __future__ import annotations

from lugwright.buildfile.build import GROUND, Build, Transformer

MOST_PARTS = 3  # between the speaker winding and the tube it leads back to


def has_feedback(build: Build) -> bool:
    """Return whether a resistor leads from the speaker winding back to a cathode or grid."""
    return bool(feedback_resistors(build))


def feedback_resistors(build: Build) -> tuple[str, ...]:
    """Return the resistors that lead from the speaker winding back to a cathode or grid."""
    outputs = [p for p in build.parts if isinstance(p.values, Transformer) and p.values.role == "output"]
    secondary = {t.joint for p in outputs for t in p.terminals if not t.name.startswith("primary")} - {GROUND}
    return tuple(
        dict.fromkeys(
            terminal.part
            for joint in sorted(secondary)
            for terminal in build.joints.get(joint, ())
            if build.part(terminal.part).kind == "resistor" and _leads_to_tube(build, terminal.part, joint)
        )
    )


def _leads_to_tube(build: Build, resistor: str, start: str) -> bool:
    """Return whether the resistor's far joint reaches a cathode or grid through a few more parts."""
    seen, edge = {start, GROUND}, {t.joint for t in build.part(resistor).terminals} - {start, GROUND}
    for _ in range(MOST_PARTS):
        if any(t.name in ("cathode", "grid") for joint in edge for t in build.joints.get(joint, ())):
            return True
        seen |= edge
        near = {t.part for joint in edge for t in build.joints.get(joint, ())}
        passive = (build.part(n) for n in sorted(near) if build.part(n).kind in ("resistor", "capacitor"))
        edge = {t.joint for part in passive for t in part.terminals} - seen
    return False
