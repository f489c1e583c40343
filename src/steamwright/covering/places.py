"""Where on a facet something is, in words that a person with a tape can follow."""

from __future__ import annotations

import re

import numpy as np

from steamwright.geometry.frame import Point2
from steamwright.room.model import Facet
from steamwright.units import System, format_tape, parse_length_m


def place_on(facet: Facet, at_m: Point2) -> str:
    """Say where a point of a facet is, from the facet's corner at its lower left.

    Parameters
    ----------
    facet : Facet
        The surface.
    at_m : tuple of float
        The point (s, t) in the facet's frame. [m]

    Returns
    -------
    words : str
        Such as ``wall A-B, 2' 3 1/2" right and 1' up from its lower left corner (s 0.699 m, t 0.305 m)``.

    References
    ----------
    own derivation
    """
    outline = np.asarray(facet.outline_m)
    corner = outline[int(np.argmin(outline @ np.array([1.0, 1.001])))]
    ds, dt = float(at_m[0] - corner[0]), float(at_m[1] - corner[1])
    lying = abs(float(facet.frame.normal[2])) > 0.7
    words = ("along", "back", "across", "back across") if lying else ("right", "left", "up", "down")
    first = f"{format_tape(abs(ds))} {words[0] if ds >= 0 else words[1]}"
    second = f"{format_tape(abs(dt))} {words[2] if dt >= 0 else words[3]}"
    start = "its first corner" if lying else "its lower left corner"
    return f"{facet.name}, {first} and {second} from {start} (s {at_m[0]:.3f} m, t {at_m[1]:.3f} m)"


def mm(length_m: float) -> str:
    """Write a length in millimetres to a tenth, cut off and not rounded up, so that a lap that is short never reads as enough.

    Parameters
    ----------
    length_m : float
        The length. [m]

    Returns
    -------
    words : str
        Such as ``49.8 mm``.

    References
    ----------
    own derivation
    """
    return f"{np.floor(length_m * 1e4 + 1e-4) / 10:.1f} mm"


_COORDINATES = re.compile(r" \(s -?[\d.]+ m, t -?[\d.]+ m\)")
_LAP_OF = re.compile(r"^lap of [\d.]+ mm: ")
_MM = re.compile(r"(\d+(?:\.\d+)?) mm\b")
_TAPE = re.compile(r"(?:\d+' )?(?:\d+ \d+/\d+|\d+/\d+|\d+)\"|\d+'(?= |,|$)")


def in_units(sentence: str, system: System) -> str:
    """Say a sentence of the proof in the units of a job, for people who have a tape and need no coordinates.

    Parameters
    ----------
    sentence : str
        As the proof words it: millimetres of laps, places by the tape and by (s, t).
    system : {"inch", "metric"}
        The job's units.

    Returns
    -------
    words : str
        Laps in thousandths of an inch, cut off and not rounded up, or all in millimetres.

    References
    ----------
    own derivation
    """
    text = _COORDINATES.sub("", _LAP_OF.sub("at ", sentence))
    if system == "metric":
        return _TAPE.sub(lambda found: f"{parse_length_m(found[0]) * 1000:.0f} mm", text)
    return _MM.sub(lambda found: f"{np.floor(float(found[1]) / 25.4 * 1000 + 1e-6) / 1000:.3f} in", text)
