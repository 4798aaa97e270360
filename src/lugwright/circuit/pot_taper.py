"""How much of a pot's resistance lies below its wiper at a given rotation."""

from __future__ import annotations

END_STOP_OHM = 10.0
_AUDIO_BASE = 81.0


def share_below_wiper(taper: str, rotation: float) -> float:
    """Return the share of the resistance between terminal 1 and the wiper.

    Parameters
    ----------
    taper : str
        ``linear``, ``audio`` or ``reverse audio``. [-]
    rotation : float
        Share of full rotation, clockwise, 0 to 1. [-]

    Returns
    -------
    float
        0 to 1; an audio taper has a tenth of its resistance below the wiper at half rotation. [-]

    Source
    ------
    From memory: audio tapers are specified at 10 to 15 percent at half rotation; a smooth
    exponential through 10 percent is used.

    Examples
    --------
    >>> round(share_below_wiper("audio", 0.5), 3), share_below_wiper("linear", 0.25)
    (0.1, 0.25)
    """
    if taper == "audio":
        return float((_AUDIO_BASE**rotation - 1.0) / (_AUDIO_BASE - 1.0))
    if taper == "reverse audio":
        return 1.0 - share_below_wiper("audio", 1.0 - rotation)
    return rotation


def pot_halves_ohm(*, ohm: float, taper: str, rotation: float) -> tuple[float, float]:
    """Return the resistance from terminal 1 to the wiper and from the wiper to terminal 3.

    Parameters
    ----------
    ohm : float
        Of the whole track. [ohm]
    taper : str
        See `share_below_wiper`. [-]
    rotation : float
        Share of full rotation, clockwise. [-]

    Returns
    -------
    tuple of float
        Both parts, never under the end-stop resistance. [ohm]

    Source
    ------
    `share_below_wiper`; end stops of 10 ohm from memory.
    """
    below = share_below_wiper(taper, rotation)
    return max(below * ohm, END_STOP_OHM), max((1.0 - below) * ohm, END_STOP_OHM)
