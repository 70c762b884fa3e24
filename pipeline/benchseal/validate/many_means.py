"""Means an instrument printed beside its readings, for all rows of a block: whether they can come from these."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from benchseal.records.block import Array, RunBlock

_LONGEST = 12  # signs; what is shorter is held by a double to far less than half its last place
_SLACK = 1e-9


def means_fit(block: RunBlock) -> Array:
    """For each run whether all its means surely fit, by the rule of ``solutions.mean_problems``, nearly touched.

    Doubles hold these numbers to 1e-15 of their size; a mean nearer to the bound than ``_SLACK`` of the place it is
    printed to is not sure. Nor is one that is blank, or printed with more than ``_LONGEST`` signs.
    """
    import pyarrow as pa  # noqa: PLC0415  loaded with a block anyway, not with the rules
    from pyarrow import compute  # noqa: PLC0415  the same

    fit = np.ones(len(block.runs), dtype=bool)
    if "mean" not in block.table.column_names:
        return fit
    signals = [name for name in block.table.column_names if name.startswith("signal")]
    values, halves = [], []
    short = np.ones(block.table.num_rows, dtype=bool)
    for name in (*signals, "mean"):
        text = block.table[name].combine_chunks()
        if isinstance(text, pa.ChunkedArray):
            text = text.chunk(0)
        length = compute.binary_length(text).to_numpy(zero_copy_only=False)
        mark = compute.find_substring(text, block.decimal_mark).to_numpy(zero_copy_only=False)
        short &= (length > 0) & (length <= _LONGEST)
        halves.append(0.5 * 10.0 ** -np.where(mark < 0, 0, length - mark - 1))
        plain = compute.replace_substring(text, block.decimal_mark, ".") if block.decimal_mark != "." else text
        values.append(compute.cast(compute.if_else(compute.equal(plain, ""), "nan", plain), pa.float64()).to_numpy())
    count = len(signals)
    apart = np.abs(np.sum(values[:-1], axis=0) - count * values[-1])
    allowed = (count * halves[-1] + np.sum(halves[:-1], axis=0)) * (1 - _SLACK)
    good = short & (apart < allowed - np.abs(values[-1]) * 1e-12)
    bad = np.concatenate(([0], np.cumsum(~good)))
    return fit & (bad[block.rows[:, 1]] == bad[block.rows[:, 0]])
