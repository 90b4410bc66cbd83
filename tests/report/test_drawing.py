"""The picture as a vector drawing: well formed, safe with hostile text, nothing from outside, nothing over another."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree

import pytest

from fillcalc.formats.drawing import drawing
from fillcalc.present.picture import Moment, Picture, dangers, frames, picture
from tests.families import thorough
from tests.present.pictures import EveryKind, of_demo
from tests.report.browser import CHROMIUM, dom_of
from tests.report.demo import NAMES

HOSTILE = ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "</title></style><b>", "' onload='x",
           "\x1b[2J\u202eevil\u0000", "]]><!--", "\ud800", "a" * 5000)
WIDTHS = (170.0, 255.0, 500.0)


def steps(name: str) -> tuple[Moment | None, ...]:
    return (None, *frames(of_demo(name)[1]))


def drawn(name: str, moment: Moment | None) -> Picture:
    case, estimate = of_demo(name)
    return picture(case, estimate, moment, "us" if name.endswith("-us") else "metric")


@pytest.mark.parametrize("name", NAMES)
def test_it_is_well_formed_and_needs_nothing_from_outside(name: str) -> None:
    for moment in steps(name):
        svg = drawing(drawn(name, moment), "one")
        root = ElementTree.fromstring(svg)
        assert root.tag == "svg" and root.attrib["aria-label"].startswith(of_demo(name)[0].title)
        assert not re.search(r"https?:|//|@import|javascript:|data:|<script|<image|<use| on\w+=", svg)
        assert set(re.findall(r"url\(([^)]*)\)", svg)) <= {"#one-air"}
        box = [float(part) for part in root.attrib["viewBox"].split()]
        points = [tuple(map(float, pair.split(","))) for each in root.iter() if "points" in each.attrib
                  for pair in each.attrib["points"].split()]
        assert all(box[0] <= x <= box[0] + box[2] and 0 <= y <= box[3] for x, y in points)
        assert svg == drawing(drawn(name, moment), "one")


@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_title_stays_text(hostile: str) -> None:
    shown = replace(drawn("cooler-shell", None), title=hostile)
    svg, plain = drawing(shown, "one"), drawing(drawn("cooler-shell", None), "one")
    tags = [[each.tag for each in ElementTree.fromstring(one).iter()] for one in (svg, plain)]
    assert tags[0] == tags[1]
    assert set(ElementTree.fromstring(svg).attrib) == set(ElementTree.fromstring(plain).attrib)
    assert not set(svg) & set("\x1b\u202e\x00\ud800") and len(svg) < len(plain) + 2000


def test_what_is_assumed_and_what_raised_a_danger_differ_without_colour() -> None:
    css = (files("fillcalc.formats") / "page.css").read_text(encoding="utf-8")
    svg = drawing(drawn("condenser-second", frames(of_demo("condenser-second")[1])[-1]), "one")
    assert 'class="figure assumed"' in svg and "DANGER" in svg and "url(#one-air)" in svg
    assert "stroke-dasharray" in css and "font-style: italic" in css


MEASURE = """<script>
const found = [];
for (const svg of document.querySelectorAll("svg")) {
  const box = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect()]);
  for (const [said, r] of texts)
    if (r.left < box.left - 0.5 || r.right > box.right + 0.5 || r.top < box.top - 1 || r.bottom > box.bottom + 1)
      found.push(["cut", said]);
  const boxes = [...svg.querySelectorAll("text:not(.said)")].map(t => [t.textContent, t.getBBox()]);
  for (const line of svg.querySelectorAll("polyline")) {
    const at = line.getAttribute("points").split(" ").map(pair => pair.split(",").map(Number));
    for (let i = 1; i < at.length; i++) for (let k = 0; k <= 20; k++) {
      const x = at[i - 1][0] + (at[i][0] - at[i - 1][0]) * k / 20;
      const y = at[i - 1][1] + (at[i][1] - at[i - 1][1]) * k / 20;
      for (const [said, b] of boxes)
        if (x > b.x + 1.5 && x < b.x + b.width - 1.5 && y > b.y + 3.2 && y < b.y + b.height - 2.4)
          found.push(["on a line", said, line.getAttribute("class")]);
    }
  }
  texts.forEach(([said, r], i) => texts.slice(i + 1).forEach(([other, s]) => {
    if (r.left < s.right - 0.5 && s.left < r.right - 0.5 && r.top < s.bottom - 5 && s.top < r.bottom - 5)
      found.push(["over", said + " / " + other]);
  }));
}
document.getElementById("found").textContent = "FOUND" + JSON.stringify(found) + "END";
</script>"""


def everything() -> Iterator[str]:
    for name, (case, estimate) in EveryKind().items():
        raised = dangers(case, estimate)
        for moment in (None, *frames(estimate)):
            for units in ("metric", "us"):
                for wide in WIDTHS:
                    shown = picture(case, estimate, moment, units, raised=raised)
                    yield f'<div style="width:{wide * 4 / 3:.0f}px">{drawing(shown, "one", wide)}</div><!-- {name} -->'


@thorough
@pytest.mark.skipif(CHROMIUM is None, reason="no browser here")
def test_in_a_browser_no_text_is_cut_or_covers_another(tmp_path: Path) -> None:
    css = (files("fillcalc.formats") / "page.css").read_text(encoding="utf-8")
    dom = dom_of(f"<meta charset=utf-8><style>{css} .picture {{ max-width: none }}</style>"
                 f"{''.join(everything())}<p id=found></p>{MEASURE}", tmp_path)
    found = re.search(r"FOUND(.*?)END</p>", dom)
    assert found and json.loads(found[1].replace("&amp;", "&")) == []
