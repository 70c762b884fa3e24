"""What the people of the demo say about lot A-2, whose cadmium is above its limit. Invented, as everything here."""

from __future__ import annotations

from typing import Final

# Line of the checklist, answer, evidence.
ANSWERS: Final = (
    (
        "solutions",
        "Digests and dilutions are kept in rack 4; the standards are still in use.",
        "Rack 4 seen by E. Farrow with T. Quill beside it; labels T-A2/1 and T-A2/2 read.",
    ),
    (
        "procedure",
        "The method was followed; over range was met by a tenfold dilution, as the method says.",
        "Bench log of the furnace, page 31.",
    ),
    ("calibration", "In order.", "Second source 99.2 %, every level within its window: run R-00005."),
    ("checks", "They speak for the result.", "Four check standards 96.2 to 100.8 %, control sample 97.2 %: R-00005."),
    ("blanks", "Nothing found.", "Method blank and check blanks at most 0.01 ug/L: R-00005."),
    (
        "dilution",
        "The tenfold dilution was made by the instrument for both portions.",
        "Sequence printout: dilution 10 at positions 35 and 36; both portions agree within 4 %.",
    ),
    ("preparation", "Both portions were whole.", "Digestion log TR-01: no loss of pressure, no spill."),
    ("mix-up", "None found.", "Labels of rack 4 against the sequence, read by two people."),
    ("instrument", "In order.", "Lamp at 61 hours, tube at 88 firings; background below 0.2 at both positions."),
    ("training", "The analyst is trained for this method.", "Training file of T. Quill, cadmium-furnace 1."),
    ("calculation", "Worked by hand from the readings: 0.61 ug/g.", "Worked sheet, compared with `run explain`."),
)  # fmt: skip
STATEMENT: Final = "I weighed both portions myself and saw nothing unusual. The over-range readings were no surprise."
HYPOTHESIS: Final = (
    "If the tube held something back from the sample before, the kept digest of the first portion, diluted by hand, "
    "reads lower on a new tube."
)
