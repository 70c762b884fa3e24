"""The small registers of the invented laboratory as records, dated relative to the start."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from benchseal.demo.calendar import ZONE, working_day
from benchseal.demo.lots import LOTS, Lot
from benchseal.records.registers import Customer, Instrument, SampleRow, StandardLot

if TYPE_CHECKING:
    from datetime import date

SERIALS = {"flame-1": "TQ-F-1107", "furnace-1": "TQ-T-2214", "vapour-1": "TQ-V-0862", "hydride-1": "TQ-H-0391"}
_TECHNIQUES = {"flame-1": "flame", "furnace-1": "furnace", "vapour-1": "cold_vapour", "hydride-1": "hydride"}

CUSTOMERS: tuple[Customer, ...] = (
    Customer("ardlea", "Ardlea Lozenge Works", "11 Mill Lade, Ardlea (invented)", "quality@ardlea.example"),
    Customer("corrigan", "Corrigan Drink Powders", "Unit 7, Corrigan Wharf (invented)", "release@corrigan.example"),
    Customer("selby", "Selby Street Pottery", "2 Selby Street, Kilnhaven (invented)", "pottery@selby.example"),
)
_ORDERS = {"ardlea": "PO-4471", "corrigan": "20-118", "selby": "SSP-9"}
_DESCRIPTIONS = {
    "ardlea": ("white round lozenges in a closed tub", "120 lozenges"),
    "corrigan": ("sachets in a carton", "60 sachets"),
    "selby": ("glazed plates, rim 210 mm, in a crate", "6 plates"),
}
# Relative standard uncertainty of the certified value, percent: the certificate's U over k.
_U_PERCENT = {"Zn": "0.50", "Mg": "0.45", "Pb": "0.50", "Cd": "0.50", "As": "0.60", "Hg": "0.80"}
_PURPOSES: tuple[tuple[str, Literal["calibration", "second_source"]], ...] = (
    ("DW", "calibration"),
    ("SA", "second_source"),
)
_MAKERS = {"calibration": "Dulse and Whin Reference Solutions", "second_source": "Samphire Standard Works"}


def instruments(start: date) -> tuple[Instrument, ...]:
    """Four instruments with invented serials, in service for two years."""
    since = (start - timedelta(days=730)).isoformat()
    return tuple(Instrument(name, serial, _TECHNIQUES[name], ZONE, since) for name, serial in SERIALS.items())


def standard_lots(start: date) -> tuple[StandardLot, ...]:
    """A calibration lot and a second source for each element, both in use over the whole story."""
    since, until = (start - timedelta(days=40)).isoformat(), (start + timedelta(days=320)).isoformat()
    return tuple(
        StandardLot(
            lot=f"{letter}-{element}-{26 + nth}",
            element=element,
            purpose=purpose,
            value="1000",
            unit="mg/L",
            u_percent=u_percent,
            maker=_MAKERS[purpose],
            certificate=f"{letter}{3100 + 7 * nth} (invented)",
            in_use_from=since,
            expires_on=until,
        )
        for nth, (element, u_percent) in enumerate(_U_PERCENT.items())
        for letter, purpose in _PURPOSES
    )


def sample_rows(start: date) -> tuple[SampleRow, ...]:
    """Nine lots of three customers, received on the first working day."""
    return tuple(_sample_row(lot, working_day(start, 0), start - timedelta(days=3)) for lot in LOTS)


def _sample_row(lot: Lot, received: date, sampled: date) -> SampleRow:
    description, quantity = _DESCRIPTIONS[lot.customer]
    return SampleRow(
        lot=lot.lot,
        product=lot.product,
        customer=lot.customer,
        specification=lot.specification,
        customer_sample_id=lot.reference,
        description=description,
        condition="closed, dry, label legible",
        quantity_received=quantity,
        received_on=received.isoformat(),
        sampled_on=sampled.isoformat(),
        sampled_by="the customer",
        order=_ORDERS[lot.customer],
    )
