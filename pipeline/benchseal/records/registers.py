"""The small registers without which a result is not traceable: customers, samples, standard lots, instruments."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from benchseal.records.quantities import PlainDecimal
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY


@dataclass(frozen=True, slots=True)
class Customer:
    """Who asks for results and receives certificates."""

    customer: str
    name: str
    address: str
    contact: str


@dataclass(frozen=True, slots=True)
class SampleRow:
    """One line of a sample register as it comes in; the site allots the sample's number.

    Dates are ``YYYY-MM-DD``. sampled_on may be empty when the laboratory did not sample and was not told. expires_on,
    retest_on, grade, manufacturer (name, address, telephone), first_certificate (number and issuer of the maker's own,
    where somebody repacked or traded the lot): as the customer states them, or empty. sampling_plan: plan and method
    of sampling, due where the laboratory sampled.
    """

    lot: str
    product: str
    customer: str
    specification: str
    customer_sample_id: str
    description: str
    condition: str
    quantity_received: str
    received_on: str
    sampled_on: str
    sampled_by: str
    order: str
    expires_on: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    retest_on: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    grade: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    manufacturer: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    first_certificate: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    sampling_plan: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Sample:
    """A registered sample: its number and the line it came from."""

    sample: str
    row: SampleRow


@dataclass(frozen=True, slots=True)
class StandardLot:
    """One lot of a standard. u_percent: relative standard uncertainty of value, from the certificate's U and k.

    purpose: ``calibration`` or ``second_source``. Dates ``YYYY-MM-DD``; in use from first to last, both included.
    prepared_as: the value the working standards were made from, in the same unit, where that was another; else empty.
    """

    lot: str
    element: str
    purpose: Literal["calibration", "second_source"]
    value: PlainDecimal
    unit: str
    u_percent: PlainDecimal
    maker: str
    certificate: str
    in_use_from: str
    expires_on: str
    prepared_as: PlainDecimal = ""


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument: the serial number its files state, the technique, its clock's zone, and since when it serves."""

    instrument: str
    serial: str
    technique: str
    zone: str
    in_service_from: str
