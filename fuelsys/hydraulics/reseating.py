"""A spring valve that opens at one head may close again only at a lower one."""

from __future__ import annotations

RESEATS_SHARE = 0.8  # of its opening head, below which a valve may close again; our own choice


def narrow_share(head_m: float, opening_m: float) -> float | None:
    """Share of an opening head that a head uses, where a valve holds it so narrowly.

    Parameters
    ----------
    head_m : float
        Head on the valve [m].
    opening_m : float
        Head at which it opens [m].

    Returns
    -------
    float or None
        Above 0.8 and up to 1 [-]; None where the valve has more to spare, or does not hold.

    Raises
    ------
    Nothing.

    Valid for
    ---------
    Spring valves without a closing head on file.

    Source
    ------
    The project's own choice of when to warn.

    Examples
    --------
    >>> narrow_share(0.19, 0.20), narrow_share(0.16, 0.20), narrow_share(0.21, 0.20)
    (0.95, None, None)
    """
    if opening_m <= 0.0 or not RESEATS_SHARE * opening_m < head_m <= opening_m:
        return None
    return head_m / opening_m
