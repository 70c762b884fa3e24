"""Make the pictures of the manual anew: pages of the demonstration laboratory, as small PNG files.

    python tools/manual_pictures.py [FOLDER]

FOLDER: docs/manual/pictures, if not said. Plays the demonstration in a folder that is removed again, prints
the report of one run and the chart of a check, takes a certificate in English and one in German, and turns pages of
them into PNG files of at most 150 kB. Needs pdftoppm (poppler). Ledger, digests and times differ each time; the figures
do not.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
from PIL import Image

from benchseal.certificate.chart_page import render_charts
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.run_report import render_run_report
from benchseal.demo.play import play
from benchseal.desk.check_charts import charts_page
from benchseal.desk.histories import Asked, check_series
from benchseal.desk.run_report import run_report

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.control_chart import RuleSet

FOLDER = Path(__file__).parents[1] / "docs" / "manual" / "pictures"
RUN, READER, MOST_BYTES, DOTS_PER_INCH = "R-00003", "p-edda.farrow", 150_000, 96
CHECK = Asked("lead-furnace", "check-standard")
RULES: tuple[RuleSet, ...] = ("western_electric",)
GREYS = 16  # enough for type; a picture takes a third
# Name of the picture: what its page says first.
PAGES = {
    "report-front": "Report of a run",
    "report-results": "content against its limit",
    "report-checks": "Drift and blanks over the order of the run",
    "report-curve": "Calibration with residuals",
}


def pages() -> Iterator[tuple[str, bytes, int]]:
    """Name, PDF and number of each page shown."""
    with tempfile.TemporaryDirectory() as folder:
        played = play(Path(folder) / "site", lambda _: None)
        with played.site.store.reading() as view:
            report = render_run_report(run_report(played.site, view, RUN, READER)[0])
            series = [(one, one.chart) for one in check_series(view, CHECK, RULES)]
            chart = render_charts(charts_page(played.site, view, CHECK, RULES, series, person=READER))
        certificate, german = (
            (played.site.certificates / f"{number}.pdf").read_bytes() for number in played.certificates[:2]
        )
        played.site.store.close()
    with pikepdf.open(io.BytesIO(report)) as pdf:
        texts = [" ".join(text.split()) for text in page_texts(pdf)]
    for name, words in PAGES.items():
        yield name, report, next(nth for nth, text in enumerate(texts, 1) if words in text)
    yield from (("certificate-front", certificate, 1), ("certificate-back", certificate, 2))
    yield from (("certificate-german", german, 1), ("check-chart", chart, 1))


def png_of(pdf: bytes, page: int) -> bytes:
    """One page in grey, which is also how it must be readable."""
    command = ["pdftoppm", "-r", str(DOTS_PER_INCH), "-f", str(page), "-l", str(page), "-gray", "-png", "-"]
    drawn = subprocess.run(command, input=pdf, capture_output=True, check=True).stdout  # noqa: S603  our own words
    small = io.BytesIO()
    with Image.open(io.BytesIO(drawn)) as page_image:
        page_image.quantize(GREYS).save(small, "PNG", optimize=True)
    return small.getvalue()


def main(words: list[str]) -> int:
    """Write every picture; 1 where one is too large."""
    folder = Path(words[0]) if words else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for name, pdf, page in pages():
        data = png_of(pdf, page)
        if len(data) > MOST_BYTES:
            print(f"{name}: {len(data)} bytes are more than {MOST_BYTES}.")
            return 1
        (folder / f"{name}.png").write_bytes(data)
        print(f"{name}.png: {len(data)} bytes, page {page}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
