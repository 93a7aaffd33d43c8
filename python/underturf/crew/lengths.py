"""Lengths as a tape shows them: metres to the centimetre, or feet and inches to the half inch."""

from __future__ import annotations

import math

__all__ = ["tape_text", "width_text"]

INCHES_PER_M = 1 / 0.0254


def tape_text(length_m: float, units: str) -> str:
    r"""Write a length as it is read off a tape, rounded and carried.

    Parameters
    ----------
    length_m : float
        Metres; NaN is written "-".
    units : str
        ``"m"`` or ``"ft"``, the unit of the document.

    Returns
    -------
    str
        Metres to 0.01, or feet and inches to half an inch.

    Examples
    --------
    >>> tape_text(3.456, "m"), tape_text(float("nan"), "ft")
    ('3.46', '-')
    >>> print(*[tape_text(inches * 0.0254, "ft") for inches in (11.99, 12, 30.5, 0.2, -11.99, 5.26)])
    1' 0" 1' 0" 2' 6½" 0' 0" -1' 0" 0' 5½"
    """
    if math.isnan(length_m):
        return "-"
    if units != "ft":
        text = f"{length_m:.2f}"
        return "0.00" if text == "-0.00" else text
    halves = math.floor(abs(length_m) * INCHES_PER_M * 2 + 0.5)
    feet, rest = divmod(halves, 24)
    sign = "-" if length_m < 0 and halves else ""
    return f"{sign}{feet}' {rest // 2}{'½' if rest % 2 else ''}\""


def width_text(width_m: float, units: str) -> str:
    """Write a width of doubt or an error, rounded up: to the centimetre, or to the inch.

    Examples
    --------
    >>> width_text(0.231, "m"), width_text(0.231, "ft"), width_text(0.3048, "ft"), width_text(0.5, "ft")
    ('0.24', '10"', '12"', '20"')
    """
    if math.isnan(width_m):
        return "-"
    # What is whole but for rounding stays.
    if units != "ft":
        return f"{math.ceil(width_m * 100 - 1e-6) / 100:.2f}"
    return f'{math.ceil(width_m * INCHES_PER_M - 1e-6)}"'
