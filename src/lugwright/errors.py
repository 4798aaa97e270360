"""Exceptions: the program cannot go on. One template: what, found, wanted, do."""

from __future__ import annotations

from collections.abc import Mapping


class LugwrightError(Exception):
    """The program cannot go on; the four lines say why and what to do.

    Parameters
    ----------
    what : str
        What is wrong, one line.
    found : str
        What was found there, with units.
    wanted : str
        What would have been right.
    do : str
        What the builder can do about it.
    """

    def __init__(self, *, what: str, found: str, wanted: str, do: str) -> None:
        super().__init__(what)
        self.what, self.found, self.wanted, self.do = what, found, wanted, do

    def __str__(self) -> str:
        """Return the four lines as they are printed."""
        return f"{self.what}\n  found:  {self.found}\n  wanted: {self.wanted}\n  do:     {self.do}"


class ValueSyntaxError(LugwrightError):
    """The text is not a component value."""


class CatalogueError(LugwrightError):
    """A data file of the catalogue cannot be used, or it has no such entry."""


class ChangeError(LugwrightError):
    """A what-if asks for a value that cannot be set; ``others`` are told after it."""

    others: tuple[ChangeError, ...] = ()

    def __str__(self) -> str:
        """Return the four lines, and those of the others."""
        return "\n".join([super().__str__(), *(f"error: {other}" for other in self.others)])


class FileAccessError(LugwrightError):
    """A file cannot be read or written."""


class CircuitError(LugwrightError):
    """The circuit cannot be computed as drawn (a floating joint, a short across a supply)."""


class NoSuchPoint(CircuitError):
    """A point, a knob or a turn of it is asked for that the circuit does not have."""


class NoIdlePoint(LugwrightError):
    """No idle point with a passing certificate was found."""


class NoSteadyState(LugwrightError):
    """No periodic steady state under a signal was found, or none may be promised."""


class PlanError(LugwrightError):
    """No valid lug plan, or a stored plan that cannot be used."""


class NoWholePlan(PlanError):
    """The circuit finds no room on the chassis as it is.

    ``parts`` have no seat, ``joints`` cannot be wired whole, ``lacks``: about how many lugs are missing on which strip.
    """

    def __init__(
        self, *, what: str, found: str, wanted: str, do: str,
        parts: tuple[str, ...] = (), joints: tuple[str, ...] = (), lacks: Mapping[str, int] | None = None,
    ) -> None:  # fmt: skip
        super().__init__(what=what, found=found, wanted=wanted, do=do)
        self.parts, self.joints, self.lacks = parts, joints, dict(lacks or {})


class NoSuchSubject(LugwrightError):
    """Something is asked about that the plan does not have."""


class LogError(LugwrightError):
    """The log of a build cannot be read or written, or what is to be logged cannot be."""


class LogUnwritable(LogError):
    """The log cannot be opened or written now; the same may well go later."""


class LogDamaged(LogError):
    """The log of a build is not as this program wrote it; with its last copy in its place the same may go."""


class ServeError(LugwrightError):
    """The bench cannot be served where it is asked to be."""


class PairingError(LugwrightError):
    """A device cannot be let in to the bench."""


class AskError(LugwrightError):
    """A page asks for something that cannot be asked so."""


class DocumentError(LugwrightError):
    """A page or drawing could not be made."""


class FitError(LugwrightError):
    """Readings of a tube cannot be fitted."""


class TraceError(LugwrightError):
    """Readings cannot be weighed against the faults a build may have."""


class ReadingError(LugwrightError):
    """What a meter is said to have shown cannot be understood; ``others`` are told after it."""

    others: tuple[LugwrightError, ...] = ()

    def __str__(self) -> str:
        """Return the four lines, and those of the others."""
        return "\n".join([super().__str__(), *(f"error: {other}" for other in self.others)])


class NotYet(LugwrightError):
    """A step of the first power-up may not be taken: what guards it is missing or off."""


class MeterError(LugwrightError):
    """A meter on a bus cannot be reached, or its answer is none."""
