"""The estimate as a page: one HTML file that needs nothing else, for paper and for a phone.

It holds the sheet for the quote and the sheet for the site, or one of them, and the appendix where it is asked for.
It has no script, asks for nothing from outside, and is the same bytes for the same case. Every number is that of
`fillcalc.formats.data`; every table that of `fillcalc.present.tables`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from importlib.resources import files

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.formats.html import Html, element, joined, link, text
from fillcalc.formats.sheets import appendix, quote, site
from fillcalc.formats.sheets.parts import Reported, Sheet, reported
from fillcalc.present import sentences as words
from fillcalc.questions.likely import likely_stage
from fillcalc.questions.recording.hold import RecordedHold
from fillcalc.questions.visit import CombinedVisit
from fillcalc.recorder.log import Log
from fillcalc.units.printable import shown

MARK = "fillcalc page"
"""Stands in every page as its generator, so that an older one can be told from a file of someone else's."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
MAKERS: Mapping[str, Callable[[Reported], Sheet]] = {
    quote.NAME: quote.quote_sheet, site.NAME: site.site_sheet, appendix.NAME: appendix.appendix_sheet}
"""What makes each sheet of a case, by its name, in their order."""
BOTH = (quote.NAME, site.NAME)
"""The sheets of a page where nobody asks for others."""
LONGEST_IN_MARGIN = 60
"""Characters of a title that the margin of a printed sheet can bear."""


def page(case: Case, estimate: Estimate, units: str = "metric", sheets: Collection[str] = BOTH,
         recorded: tuple[Log, RecordedHold] | None = None) -> str:
    """The page of one case. `units` is metric or us; the estimate is that of `with_ranges`; `sheets` are of MAKERS;
    `recorded` is a recorder's file with what it tells, for the sheet for the site."""
    of = replace(reported(case, estimate, units), recorded=recorded)
    return document(case.title, [make(of) for name, make in MAKERS.items() if name in sheets])


def visit_page(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
               units: str = "metric", sheets: Collection[str] = BOTH) -> str:
    """The page of several cases in one visit: one sheet for the quote, then the others for each case."""
    each = []
    for place, (case, estimate, part) in enumerate(zip(cases, estimates, combined.cases, strict=True), 1):
        of = reported(case, estimate, units, f"case{place}")
        stages = tuple(likely_stage(stage, units) for stage in part.stages)
        each.append(replace(of, estimate=replace(of.estimate, stages=stages)))
    title = f"A visit with {len(cases)} cases"
    made = [quote.combined_quote_sheet(title, each, combined)] if quote.NAME in sheets else []
    made += [make(of) for of in each for name, make in MAKERS.items() if name in sheets and name != quote.NAME]
    return document(title, made)


# --- the document -------------------------------------------------------------------------------

def document(title: str, sheets: Sequence[Sheet]) -> str:
    """Return the whole file of a page that holds these sheets."""
    style = (files("fillcalc.formats") / "page.css").read_text(encoding="utf-8")
    body = joined([_jumps(sheets), element("main", joined(_article(sheet) for sheet in sheets))])
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="generator" content="{MARK}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{text(f"{words.TITLE}: {title}" if title else words.TITLE, 230)}</title>
<style>
{style}{_margins(sheets)}</style>
</head>
<body>
{body}
</body>
</html>
"""


def _article(sheet: Sheet) -> Html:
    return element("article", sheet.body, f"sheet {sheet.kind}", sheet.name)


def _jumps(sheets: Sequence[Sheet]) -> Html:
    """Links to what is wanted first; of several cases, to the sheets alone."""
    several = sum(sheet.kind == site.NAME for sheet in sheets) > 1
    return element("nav", joined(
        [link(sheet.name, f"{sheet.job}: {sheet.title}") if several else joined(link(*jump) for jump in sheet.jumps)
         for sheet in sorted(sheets, key=lambda one: one.kind != site.NAME)]))


def _margins(sheets: Sequence[Sheet]) -> str:
    """What stands in the margin of each printed sheet: title, what it is, what it is for, and n of m."""
    return "".join(f"""@page {sheet.name} {{
  @top-left {{ content: {_quoted(shown(sheet.title, LONGEST_IN_MARGIN))}; }}
  @top-right {{ content: {_quoted(words.TITLE)}; }}
  @bottom-left {{ content: {_quoted(sheet.job)}; }}
  @bottom-right {{ content: counter(page) " of " counter(pages); }}
}}
#{sheet.name} {{ page: {sheet.name}; }}
""" for sheet in sheets)


def _quoted(words: str) -> str:
    """A text as a string of a style sheet: whatever is no plain letter, figure or space by its number."""
    return '"' + "".join(one if one == " " or (one.isascii() and one.isalnum()) else f"\\{ord(one):x} "
                         for one in words) + '"'
