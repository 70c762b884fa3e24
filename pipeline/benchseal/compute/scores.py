"""Scores of a measured value against a certified one: how far apart they are, in what their uncertainties allow."""

from __future__ import annotations

from decimal import Context, Decimal, localcontext

_WIDE = Context(prec=60)
COVERAGE = 2  # of both expanded uncertainties of E_n


def zeta_score(found: Decimal, u: Decimal, certified: Decimal, u_certified: Decimal) -> Decimal | None:
    """(found - certified)/sqrt(u^2 + u_certified^2) with standard uncertainties (ISO 13528, from memory).

    None where neither has an uncertainty.
    """
    with localcontext(_WIDE):
        together = (u * u + u_certified * u_certified).sqrt()
        return (found - certified) / together if together > 0 else None


def e_n_score(found: Decimal, u: Decimal, certified: Decimal, u_certified: Decimal) -> Decimal | None:
    """(found - certified)/sqrt(U^2 + U_certified^2) with expanded uncertainties, k = 2 (ISO 13528, from memory).

    u, u_certified: standard uncertainties, as everywhere. None where neither has one.
    """
    return zeta_score(found, COVERAGE * u, certified, COVERAGE * u_certified)
