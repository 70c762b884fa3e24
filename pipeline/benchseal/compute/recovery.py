"""Recovery and relative percent difference of values of record, in decimal arithmetic."""

from __future__ import annotations

from decimal import Context, Decimal, localcontext

_WIDE = Context(prec=250)


def recovery_percent(found: Decimal, added: Decimal, native: Decimal = Decimal(0)) -> Decimal | None:
    """100 (found - native)/added; None when nothing was added."""
    if added == 0:
        return None
    with localcontext(_WIDE):
        return 100 * (found - native) / added


def relative_percent_difference(a: Decimal, b: Decimal) -> Decimal | None:
    """100 |a - b|/((a + b)/2); None when the mean is not above zero."""
    with localcontext(_WIDE):
        mean = (a + b) / 2
        return 100 * abs(a - b) / mean if mean > 0 else None
