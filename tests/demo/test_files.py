"""Every instrument file through the whole line: bytes, layout, rules, calculation; and the figures the story names.

Invented data: what is tested here is the story, never the correctness of a number.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from benchseal.demo.scenario import scenario
from benchseal.problems import Problem
from benchseal.records.results import BelowLimit, NotReportable, Quantified
from benchseal.records.run import PRESENTED_KINDS, Run, RunDocument
from benchseal.validate.runs import check_run

from .conftest import START, Laboratory, Worked

if TYPE_CHECKING:
    from benchseal.demo.scenario import Scenario
    from benchseal.records.results import Outcome, WorkedResult
