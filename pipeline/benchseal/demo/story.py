"""The story in words: what the play does, step by step, and what to look at."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step. day: working day of the fortnight, from 0. file: the instrument file it is about, or empty."""

    name: str
    day: int
    words: str
    file: str = ""


STEPS: tuple[Step, ...] = (
    Step("founded", 0, "Tern Quay Laboratory is founded: six people, keys, and every controlled document approved."),
    Step("received", 0, "Nine lots of three customers are received and registered."),
    Step("assay", 2, "Zinc and magnesium of both food products, in one file; lots of two customers alternate.",
         "flame-assay.txt"),
    Step("lead lost", 4, "Lead, first run: the check standard after sample 20 reads 87.1 % (limit 90 to 110). "
         "Samples 11 to 20 are lost, samples 1 to 10 stand.", "furnace-lead-first.txt"),
    Step("lead again", 5, "A new tube, the same digests: the lost samples are read again with blank, control and the "
         "unspiked portion, and pass.", "furnace-lead-second.txt"),
    Step("cadmium", 5, "Cadmium: lot A-2 is over range undiluted. At dilution 10 its portions give 0.62 and 0.60 ug/g; "
         "the limit is 0.50. The lot is held for cadmium and an investigation opens.", "furnace-cadmium.txt"),
    Step("mercury", 6, "Mercury by cold vapour: half of the lots lie below the lowest level.", "vapour-mercury.csv"),
    Step("arsenic", 6, "Arsenic by hydride, on a curve that bends.", "vapour-arsenic.csv"),
    Step("ware", 8, "Lead and cadmium released from glazed plates, per area; a fifth plate's leachate was spilled and "
         "is not determined, with its reason.", "flame-ware.txt"),
    Step("refused", 8, "A file cut off in mid-section and a file of concentrations only are refused, whole; the same "
         "file twice is noticed."),
    Step("good lot", 9, "Lot A-1: six runs, signed as packets, its certificate approved, released and verified."),
    Step("borderline", 9, "Lot A-3: 89.96 % zinc rounds to 90.0 and complies; a person has to comment on it."),
    Step("mistyped", 9, "Lot A-4, one digest: 0.5201 was typed for 0.5021. The correction raises the four results that "
         "rest on it and touches nothing else."),
    Step("investigated", 9, "Lot A-2: a reviewer answers each question of its investigation with evidence, the analyst "
         "states, an approver plans a hypothesis reading. No error is found so far."),
    Step("held", 9, "Lot A-2 stays held: its certificate says why not, and who can lift it."),
)  # fmt: skip
