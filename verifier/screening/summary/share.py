"""How sure a share is that was counted in few listings."""

from __future__ import annotations

from math import sqrt

# The normal quantile of 95 %, two-sided.
_Z = 1.959963984540054


def wilson(count: int, total: int) -> tuple[float, float]:
    """Return the 95 % interval of a share counted as ``count`` of ``total``, each 0..1.

    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212.
    """
    if total == 0:
        return 0.0, 1.0
    share, z2 = count / total, _Z * _Z
    middle = (share + z2 / (2 * total)) / (1 + z2 / total)
    half = _Z * sqrt(share * (1 - share) / total + z2 / (4 * total * total)) / (1 + z2 / total)
    return max(0.0, middle - half), min(1.0, middle + half)


def counted_share(count: int, total: int) -> str:
    """Return a count with its part of a total: ``3 (60 %)``; a part is never rounded to none or to all."""
    return f"{count} ({share_of(count, total)})" if count and total else str(count)


def share_of(count: int, total: int) -> str:
    """Return a part of a total in percent, never rounded to none or to all."""
    percent = 100 * count / total
    words = "<1" if 0 < percent < 1 else f"{percent:.0f}" if count == total else f"{min(percent, 99):.0f}"
    return f"{words} %"
