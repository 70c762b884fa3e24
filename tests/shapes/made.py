"""Twelve invented shapes of export files, each with what was put into it.

Written before and apart from what proposes a layout, and never changed to please it. No instrument writes any of them;
banners, words, codes and line orders are our own. The numbers are drawn from a seed and prove nothing but that what
was written is what is read.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

STANDARD_KINDS: Final = ("calibration_blank", "standard")


@dataclass(frozen=True)
class Tube:
    """One solution: its name, kind, what a standard holds (text or empty), factor, signals as text, times of them."""

    label: str
    kind: str
    given: str
    factor: str
    signals: tuple[str, ...]
    times: tuple[datetime, ...]


@dataclass(frozen=True)
class Run:
    """One element measured once, as it was put into a file."""

    element: str
    wavelength_nm: str
    technique: str
    instrument_serial: str
    signal_unit: str
    started: datetime
    tubes: tuple[Tube, ...]
    signal_is: str = "absorbance"


@dataclass(frozen=True)
class Shape:
    """Files by name in the order they are to be read, and the runs they hold. ``supplied``: what no file says."""

    files: dict[str, bytes]
    runs: tuple[Run, ...]
    supplied: dict[str, str] = field(default_factory=dict)


def _run(random: Random, element: str, nm: str, technique: str, unit: str, **more: object) -> Run:
    """Blank, standards, a check, samples; each with ``readings`` signals."""
    readings = int(str(more.get("readings", 3)))
    with_standards, samples = bool(more.get("standards", True)), int(str(more.get("samples", 5)))
    clock = datetime(2026, 5, random.randint(13, 28), random.randint(8, 15), random.randint(0, 59), 11)  # noqa: DTZ001
    started, tubes = clock, []
    plan: list[tuple[str, str, str, str]] = []
    if with_standards:
        plan.append(("Blank", "calibration_blank", "0", "1"))
        plan += [(f"Std {nth}", "standard", given, "1") for nth, given in enumerate(("0.5", "1.0", "2.0", "5.0"), 1)]
        plan.append(("Check 1", "check_standard", "2.0", "1"))
    for nth in range(samples):
        plan.append((f"26-{random.randint(1000, 9999)}/{nth + 1}", "sample", "", random.choice(("1", "2", "10"))))
    plan.append(("Check 2", "check_standard", "2.0", "1"))
    for label, kind, given, factor in plan:
        level = float(given) if given else random.uniform(0.2, 4.5)
        times, signals = [], []
        for _ in range(readings):
            clock += timedelta(seconds=random.randint(40, 75))
            times.append(clock)
            signals.append(f"{random.gauss(0.002 + 0.06 * level, 0.0008):.4f}")
        tubes.append(Tube(label, kind, given, factor, tuple(signals), tuple(times)))
    serial = f"TQ-{random.randint(100, 999)}"
    return Run(element, nm, technique, serial, unit, started, tuple(tubes))


def _mean(tube: Tube, places: int = 4) -> str:
    return f"{sum(map(float, tube.signals)) / len(tube.signals):.{places}f}"


def _comma(text: str) -> str:
    return text.replace(".", ",")


def calibration_only(random: Random) -> Shape:
    """A calibration alone: keys with equals signs, tabs, one row for each reading."""
    run = _run(random, "Cu", "324.8", "flame", "A", samples=0)
    lines = [
        "[bench two] calibration sheet",
        "unit no. = " + run.instrument_serial,
        "metal = Cu",
        "lambda = 324.8",
        "atomiser = flame",
        "display = absorbance",
        f"date = {run.started:%Y-%m-%d}",
        f"clock = {run.started:%H:%M:%S}",
        "",
        "nr\tsolution\ttype\tmg/L\trep\tabs\thh:mm:ss",
    ]
    codes = {"calibration_blank": "B0", "standard": "ST", "check_standard": "QC"}
    for nth, tube in enumerate(run.tubes, 1):
        for rep, (signal, at) in enumerate(zip(tube.signals, tube.times, strict=True), 1):
            lines.append(f"{nth}\t{tube.label}\t{codes[tube.kind]}\t{tube.given}\t{rep}\t{signal}\t{at:%H:%M:%S}")
    lines.append("[sheet complete]")
    return Shape({"calib.txt": ("\n".join(lines) + "\n").encode()}, (run,))


def results_only(random: Random) -> Shape:
    """Samples and checks without standards: semicolons, decimal comma, dates as day.month.year."""
    run = _run(random, "Fe", "248.3", "flame", "A", standards=False, samples=8, readings=2)
    lines = [
        "Results of the day",
        f"Machine;{run.instrument_serial}",
        "Element;Fe;Line;248,3",
        "Mode;flame;absorbance",
        f"Started;{run.started:%d.%m.%Y};{run.started:%H:%M}:{run.started:%S}",
        "",
        "Pos;Name;Role;Factor;Replicate;Absorbance",
    ]
    codes = {"sample": "unknown", "check_standard": "control"}
    for nth, tube in enumerate(run.tubes, 1):
        for rep, signal in enumerate(tube.signals, 1):
            lines.append(f"{nth};{tube.label};{codes[tube.kind]};{tube.factor};{rep};{_comma(signal)}")
    lines.append(f"Total;{len(run.tubes)}")
    return Shape({"results.csv": ("\r\n".join(lines) + "\r\n").encode("cp1252")}, (run,))


def printer_capture(random: Random) -> Shape:
    """What a printer port got: pages with a form feed and a running head, readings below the name, mean rows."""
    run = _run(random, "Pb", "283.3", "furnace", "A.s")
    codes = {"calibration_blank": "CB", "standard": "CS", "check_standard": "CK", "sample": "SA"}
    body: list[str] = []
    for nth, tube in enumerate(run.tubes, 1):
        for rep, (signal, at) in enumerate(zip(tube.signals, tube.times, strict=True), 1):
            start = f"{nth:>3}  {tube.label:<12} {codes[tube.kind]:<3}{tube.given:>7}{tube.factor:>5}"
            start = start if rep == 1 else " " * len(start)
            body.append(f"{start}{rep:>5}{signal:>10}  {at:%H:%M:%S}")
        body.append(" " * 32 + f" avg{_mean(tube):>10}")
    top = "cup  name         typ   conc  dil  rep  int.abs  time"
    pages = [body[nth : nth + 24] for nth in range(0, len(body), 24)]
    text = ""
    for nth, page in enumerate(pages, 1):
        feed = "\f" if nth > 1 else ""
        lines = [f"{feed}GRAPHITE BENCH LOG {run.instrument_serial:>20}      page {nth}/{len(pages)}", "-" * 56]
        if nth == 1:
            lines += [
                "analyte Pb   wavelength 283.3",
                "atomisation furnace   values absorbance A s",
                f"run of {run.started:%d/%m/%y %H:%M:%S}",
                "",
            ]
        lines += [top, *page]
        text += "\r\n".join(lines) + "\r\n"
    text += "END OF LOG\r\n"
    return Shape({"capture.prn": text.encode("cp850")}, (run,))


def many_elements(random: Random) -> Shape:
    """One file, three elements one below the other, each with its own head and table."""
    metals = (("Zn", "213.9"), ("Mg", "285.2"), ("Cu", "324.8"))
    runs = tuple(_run(random, element, nm, "flame", "A", samples=4) for element, nm in metals)
    serial = runs[0].instrument_serial
    runs = tuple(Run(r.element, r.wavelength_nm, r.technique, serial, "A", r.started, r.tubes) for r in runs)
    codes = {"calibration_blank": "z", "standard": "s", "check_standard": "k", "sample": "p"}
    lines = ["Daily export, all metals", f"apparatus: {serial}", ""]
    for run in runs:
        lines += [
            f"*** {run.element} at {run.wavelength_nm} nm ***",
            "way: flame, shown as absorbance",
            f"begun: {run.started:%Y/%m/%d} {run.started:%H.%M.%S}",
            "#,tube,sort,level,dilution,reading,signal",
            ",,,mg/L,,,A",
        ]
        for nth, tube in enumerate(run.tubes, 1):
            for rep, signal in enumerate(tube.signals, 1):
                lines.append(f"{nth},{tube.label},{codes[tube.kind]},{tube.given},{tube.factor},{rep},{signal}")
        lines += [f"*** end of {run.element} ***", ""]
    lines.append("all metals written")
    return Shape({"day.txt": ("\n".join(lines) + "\n").encode()}, runs)


def many_files(random: Random) -> Shape:
    """One run that was written as three files, a rack each, with positions that go on."""
    run = _run(random, "Mn", "279.5", "flame", "A", samples=9)
    codes = {"calibration_blank": "0", "standard": "1", "check_standard": "2", "sample": "3"}
    racks = [run.tubes[:6], run.tubes[6:11], run.tubes[11:]]
    files, nth = {}, 0
    for rack, tubes in enumerate(racks, 1):
        lines = [
            f"rack,{rack},of,{len(racks)}",
            f"serial,{run.instrument_serial}",
            "what,Mn,279.5,flame,absorbance,A",
            f"since,{run.started:%Y-%m-%d},{run.started:%H:%M:%S}",
            "place,name,class,standard,factor,rep,value,when",
        ]
        for tube in tubes:
            nth += 1
            for rep, (signal, at) in enumerate(zip(tube.signals, tube.times, strict=True), 1):
                start = f"{nth},{tube.label},{codes[tube.kind]},{tube.given},{tube.factor}"
                lines.append(f"{start},{rep},{signal},{at:%H:%M:%S}")
        lines.append("rack closed")
        files[f"rack-{rack}.csv"] = ("\n".join(lines) + "\n").encode()
    return Shape(files, (run,))


def utf_16(random: Random) -> Shape:
    """UTF-16 with a byte order mark, tabs, decimal comma, dates with month first."""
    run = _run(random, "Se", "196.0", "hydride", "A")
    codes = {"calibration_blank": "Nullwert", "standard": "Standard", "check_standard": "Prüf", "sample": "Probe"}
    lines = [
        "Hydridmessung – Ausgabe",  # noqa: RUF001
        f"Gerät\t{run.instrument_serial}",
        "Element\tSe\t196,0\tnm",
        "Technik\tHydrid\tExtinktion",
        f"Beginn\t{run.started:%m/%d/%Y}\t{run.started:%H:%M:%S}",
        "",
        "Platz\tName\tArt\tSoll\tVerd.\tNr\tExt.\tZeit",
        "\t\t\tµg/L\t\t\tA\t",
    ]
    for nth, tube in enumerate(run.tubes, 1):
        for rep, (signal, at) in enumerate(zip(tube.signals, tube.times, strict=True), 1):
            start = f"{nth}\t{tube.label}\t{codes[tube.kind]}\t{_comma(tube.given)}\t{tube.factor}"
            lines.append(f"{start}\t{rep}\t{_comma(signal)}\t{at:%H:%M:%S}")
    lines.append("Ende der Ausgabe")
    return Shape({"hydrid.txt": ("\r\n".join(lines) + "\r\n").encode("utf-16")}, (run,))


def page_437(random: Random) -> Shape:
    """Code page 437: a drawn frame, fixed places, µ in the row of units."""
    run = _run(random, "Hg", "253.7", "cold_vapour", "A")
    codes = {"calibration_blank": "BLK", "standard": "STD", "check_standard": "CHK", "sample": "SMP"}
    rule = "├────┼────────────┼─────┼───────┼─────┼───┼─────────┤"
    lines = [
        "┌" + "─" * 52 + "┐",
        f"│ MERCURY CELL  no {run.instrument_serial:<34}│",
        f"│ Hg 253.7 nm   cold vapour   absorbance{'':<13}│",
        f"│ {run.started:%d-%m-%Y}  {run.started:%H:%M:%S}{'':<31}│",
        "├────┬────────────┬─────┬───────┬─────┬───┬─────────┤",
        "│  # │ vial       │ typ │  conc │ dil │ r │  signal │",
        "│    │            │     │  µg/L │     │   │       A │",
        rule,
    ]
    for nth, tube in enumerate(run.tubes, 1):
        for rep, signal in enumerate(tube.signals, 1):
            start = f"│ {nth:>2} │ {tube.label:<10} │ {codes[tube.kind]} │ {tube.given:>5} │ {tube.factor:>3} │"
            lines.append(f"{start} {rep} │ {signal:>7} │")
    lines.append("└────┴────────────┴─────┴───────┴─────┴───┴─────────┘")
    return Shape({"cell.asc": ("\r\n".join(lines) + "\r\n").encode("cp437")}, (run,))


def ragged_blanks(random: Random) -> Shape:
    """Columns two blanks or more apart that stand under each other nowhere; names with single blanks in them."""
    run = _run(random, "Ca", "422.7", "flame", "A")
    codes = {"calibration_blank": "blank", "standard": "cal", "check_standard": "verify", "sample": "unknown"}
    lines = [
        "  flame station report",
        f"  station   {run.instrument_serial}",
        "  species   Ca     422.7",
        "  method    flame / absorbance / A",
        f"  start     {run.started:%d %m %Y}   {run.started:%H:%M:%S}",
        "",
        "  no   who   role   expected   factor   rep   reading",
    ]
    for nth, tube in enumerate(run.tubes, 1):
        for rep, signal in enumerate(tube.signals, 1):
            cells = (str(nth), tube.label, codes[tube.kind], tube.given or "-", tube.factor, str(rep), signal)
            lines.append("  " + "".join(cell + " " * random.randint(2, 6) for cell in cells).rstrip())
    lines.append("  report ends")
    return Shape({"station.txt": ("\n".join(lines) + "\n").encode("ascii")}, (run,))


def transposed(random: Random) -> Shape:
    """Solutions stand in columns, what was read of them in rows."""
    run = _run(random, "K", "766.5", "flame", "A", samples=3)
    codes = {"calibration_blank": "zero", "standard": "std", "check_standard": "check", "sample": "sample"}
    tubes = run.tubes
    lines = [
        "turned table;1",
        f"device;{run.instrument_serial}",
        "for;K;766.5;flame;absorbance",
        f"from;{run.started:%Y-%m-%d};{run.started:%H:%M:%S}",
        "tube;" + ";".join(str(nth) for nth in range(1, len(tubes) + 1)),
        "name;" + ";".join(tube.label for tube in tubes),
        "kind;" + ";".join(codes[tube.kind] for tube in tubes),
        "mg/L;" + ";".join(tube.given for tube in tubes),
        "dilution;" + ";".join(tube.factor for tube in tubes),
    ]
    lines += [f"A {nth + 1};" + ";".join(tube.signals[nth] for tube in tubes) for nth in range(3)]
    lines.append("turned table ends")
    return Shape({"turned.csv": ("\n".join(lines) + "\n").encode()}, (run,))


def side_by_side(random: Random) -> Shape:
    """Readings of a solution beside each other, then mean and relative standard deviation; cells in quotation marks."""
    run = _run(random, "Na", "589.0", "flame", "A", readings=4)
    codes = {"calibration_blank": "Z0", "standard": "ZS", "check_standard": "ZC", "sample": "ZX"}
    lines = [
        '"side table","form 7"',
        f'"instrument","{run.instrument_serial}"',
        '"element","Na","589.0"',
        '"technique","flame","absorbance","A"',
        f'"begin","{run.started:%d/%m/%Y}","{run.started:%H:%M:%S}"',
        '"ix","id","code","std","df","r1","r2","r3","r4","mean","rsd"',
    ]
    for nth, tube in enumerate(run.tubes, 1):
        start = f'{nth},"{tube.label}","{codes[tube.kind]}",{tube.given},{tube.factor}'
        lines.append(f"{start},{','.join(tube.signals)},{_mean(tube)},{random.uniform(0.2, 3):.1f}")
    lines.append('"table done"')
    return Shape({"side.csv": ("\r\n".join(lines) + "\r\n").encode()}, (run,))


def height_and_area(random: Random) -> Shape:
    """A furnace file with height and area of each peak, background and firing counter; the area counts."""
    run = _run(random, "Cd", "228.8", "furnace", "A.s", readings=2)
    codes = {"calibration_blank": "BL", "standard": "ST", "check_standard": "CV", "sample": "SM"}
    lines = [
        "peak table v2",
        f"tube furnace {run.instrument_serial}",
        "Cd | 228.8 | furnace | absorbance",
        f"fired from {run.started:%Y.%m.%d} {run.started:%H:%M:%S}",
        "pos|sample|code|ug/L|dil|rep|height/A|area/A s|bg area/A s|firing|time",
    ]
    firing = random.randint(200, 900)
    for nth, tube in enumerate(run.tubes, 1):
        for rep, (signal, at) in enumerate(zip(tube.signals, tube.times, strict=True), 1):
            firing += 1
            height = f"{float(signal) * random.uniform(0.9, 1.3):.4f}"
            start = f"{nth}|{tube.label}|{codes[tube.kind]}|{tube.given}|{tube.factor}|{rep}"
            back = f"{random.uniform(0.05, 0.3):.4f}"
            lines.append(f"{start}|{height}|{signal}|{back}|{firing}|{at:%H:%M:%S}")
    lines.append("peaks end")
    return Shape({"peaks.txt": ("\n".join(lines) + "\n").encode()}, (run,))


def missing_facts(random: Random) -> Shape:
    """A bare table: neither wavelength, serial number nor technique stands in the file; somebody has to say them."""
    run = _run(random, "Ni", "232.0", "flame", "A")
    codes = {"calibration_blank": "b", "standard": "c", "check_standard": "q", "sample": "u"}
    lines = [f"Ni,{run.started:%Y-%m-%d},{run.started:%H:%M:%S}", "n,name,t,std,f,rep,abs"]
    for nth, tube in enumerate(run.tubes, 1):
        for rep, signal in enumerate(tube.signals, 1):
            lines.append(f"{nth},{tube.label},{codes[tube.kind]},{tube.given},{tube.factor},{rep},{signal}")
    lines.append("done")
    supplied = {
        "wavelength_nm": "232.0",
        "technique": "flame",
        "instrument_serial": run.instrument_serial,
        "signal_is": "absorbance",
        "signal_unit": "A",
    }
    return Shape({"bare.csv": ("\n".join(lines) + "\n").encode()}, (run,), supplied)


SHAPES: Final[dict[str, Callable[[Random], Shape]]] = {
    made.__name__: made
    for made in (
        calibration_only,
        results_only,
        printer_capture,
        many_elements,
        many_files,
        utf_16,
        page_437,
        ragged_blanks,
        transposed,
        side_by_side,
        height_and_area,
        missing_facts,
    )
}
