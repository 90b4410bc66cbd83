"""The track record of a folder as a page: the table, the chart of estimated against taken, and the sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fillcalc.case.folder import Folder
from fillcalc.formats.figure import GREY, INK, SECOND, STRONG, Frame, drawn
from fillcalc.formats.html import Html, element, joined, listed, section, table, text
from fillcalc.formats.page import document
from fillcalc.formats.sheets.parts import Sheet
from fillcalc.present import jobs as present
from fillcalc.present import sentences as words
from fillcalc.present.inputs import OWN_TITLE, own_sentences
from fillcalc.present.jobs import JobBar, Named
from fillcalc.questions.jobs.track import Track

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HOUR = 3600.0
AGAINST_TITLE = "Time on site: estimated against taken"
HOW_TO_READ = "Each mark is a job, its bar from low to high as estimated. On the line, a job took what was likely."


def track_page(folder: Folder, record: Track, named: Named, units: str = "metric") -> str:
    """The whole page of a track record. `units` is metric or us."""
    bars = present.job_bars(record, named.files)
    title, own = f"Jobs in {named.folder}", own_sentences(folder.cases, units)
    body = [
        element("header", joined([element("h1", text(words.TITLE)), element("p", text(title, 200), "title")])),
        section("What the jobs tell", listed(present.track_sentences(record, named.files, units)), kind="block"),
        element("figure", joined([element("figcaption", text(AGAINST_TITLE)), Html(against(bars)),
                                  listed([HOW_TO_READ])])) if bars else Html(""),
        section(present.TRACK_TITLE, table(present.track_rows(record), head=True, kind="figures ours track"),
                kind="block"),
        section("What was read", listed(present.folder_sentences(folder, record.jobs)), kind="block"),
        section(OWN_TITLE, listed(own), kind="block") if own else Html(""),
    ]
    return document(title, [Sheet("track", "track", "The track record", title, joined(body))])


def against(bars: Sequence[JobBar]) -> str:
    """Estimated against taken, in hours, as a drawing: the middle of each job and its low to high."""
    most = 1.06 * max(max(bar.high_s, bar.taken_s) for bar in bars) / HOUR
    spoken = "; ".join(f"{bar.name} {bar.likely_s / HOUR:.1f} h estimated, {bar.taken_s / HOUR:.1f} h taken"
                       for bar in bars)

    def draw(axes: Axes) -> None:
        axes.plot([0.0, most], [0.0, most], color=GREY, linewidth=0.8)
        for bar in bars:
            inside = bar.low_s <= bar.taken_s <= bar.high_s
            color, taken = STRONG if inside else SECOND, bar.taken_s / HOUR
            axes.plot([bar.low_s / HOUR, bar.high_s / HOUR], [taken, taken], color=color, linewidth=1.0)
            axes.plot([bar.likely_s / HOUR], [taken], color=color, marker="o" if inside else "s", markersize=4.0,
                      markeredgecolor=INK, markeredgewidth=0.4)
        axes.set(xlim=(0.0, most), ylim=(0.0, most), xlabel="estimated, h", ylabel="taken, h")

    return drawn(Frame("track", f"{AGAINST_TITLE}: {spoken}", wide=3.4, high=3.0), draw)
