"""A headless Chromium for the page's tests: what it complains of, what it asks for, how many sheets it prints."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from html import unescape
from pathlib import Path

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
POPPLER = shutil.which("pdftotext")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
         "--disable-background-networking", "--disable-component-update", "--hide-scrollbars")
ITS_OWN = ("google.com", "googleapis.com", "gvt1.com")
"""Hosts that the browser itself looks for at every start."""
SIZES = {"A4": "A4", "Letter": "letter"}


@dataclass(frozen=True)
class Opened:
    """What was seen while one page was opened from disk."""

    console: tuple[str, ...]
    asked: tuple[str, ...]
    """Addresses off this disk that were asked for, those of the browser itself left out."""
    sheets: int


def opened(page: str, folder: Path) -> Opened:
    """Open the page from a file in this folder, print it to a PDF, and tell what happened."""
    file, log, printed = folder / "page.html", folder / "net.json", folder / "page.pdf"
    file.write_text(page, encoding="utf-8")
    said = _run(folder, "--enable-logging=stderr", f"--log-net-log={log}", "--no-pdf-header-footer",
                f"--print-to-pdf={printed}", file.as_uri()).stderr
    console = tuple(line for line in said.splitlines() if "CONSOLE" in line)
    return Opened(console, _asked(log), len(re.findall(rb"/Type\s*/Page\b(?!s)", printed.read_bytes())))


@dataclass(frozen=True)
class Side:
    """One printed side: its text, and where its words stand, in points from the top left."""

    text: str
    words: tuple[tuple[str, float, float, float, float], ...]
    """Each word with its left, top, right and bottom."""
    wide: float

    @property
    def packed(self) -> str:
        """The text without spaces, in the order in which the page has it."""
        return "".join(self.text.split())

    @property
    def smallest(self) -> float:
        """The smallest type, points; the box of a word is as high as ascent and descent of its face. Short words do not
        count: of those it cannot be told whether they stand upright. An outlined word is there twice, once as lines.
        Capitals, such as the mark of a label in the picture, are read at less."""
        found = [(word, left, bottom, bottom - top) for word, left, top, right, bottom in self.words
                 if len(word) > 3 and right - left > bottom - top and not word.isupper()]
        return min(max(other for again, there, low, other in found
                       if again == word and abs(there - left) < 0.5 and abs(low - bottom) < 3)
                   for word, left, bottom, _ in found) / FACE

    @property
    def left(self) -> float:
        return min(word[1] for word in self.words)

    @property
    def right(self) -> float:
        return max(word[3] for word in self.words)


FACE = 1.117
"""Ascent and descent of Liberation Sans, as part of its size (from the face itself)."""


def printed(folder: Path) -> list[Side]:
    """The sides of the PDF that `opened` left in this folder."""
    file = str(folder / "page.pdf")
    raw = _tool("pdftotext", "-raw", file, "-").split("\f")[:-1]
    boxes = _tool("pdftotext", "-bbox", file, "-").split("<page ")[1:]
    sides = []
    for text, page in zip(raw, boxes, strict=True):
        found = re.findall('<word ' + ' '.join(rf'{side}="([\d.-]+)"' for side in ("xMin", "yMin", "xMax", "yMax"))
                           + '>(.*?)</word>', page)
        wide = re.search(r'width="([\d.]+)"', page)
        assert wide
        sides.append(Side(text, tuple((unescape(word), *map(float, box)) for *box, word in found), float(wide[1])))
    return sides


def _tool(*arguments: str) -> str:
    return subprocess.run(arguments, capture_output=True, text=True, timeout=60, check=True).stdout


@dataclass(frozen=True)
class LaidOut:
    """A page on a screen: how wide its content is, its smallest type, the top of each named part, in pixels, and the
    words of its tables that stand on two lines."""

    wide: int
    smallest: float
    tops: dict[str, float]
    broken: list[str]


def on_paper(page: str, size: str) -> str:
    """The page as it would be printed on this paper, A4 or Letter."""
    assert page.count("size: auto") == 1
    return page.replace("size: auto", f"size: {SIZES[size]}")


MEASURE = """
f.onload = () => {
  const page = f.contentDocument, tops = {}, sizes = [];
  for (const part of page.querySelectorAll("[id]"))
    if (!part.closest("svg")) tops[part.id] = part.getBoundingClientRect().top;
  for (const part of page.querySelectorAll("body *"))
    if (!part.closest("svg") && [...part.childNodes].some(one => one.nodeType === 3 && one.textContent.trim()))
      sizes.push(parseFloat(f.contentWindow.getComputedStyle(part).fontSize));
  const broken = [];
  for (const cell of page.querySelectorAll("th, td"))
    for (const piece of [...cell.childNodes].filter(one => one.nodeType === 3))
      for (const word of piece.textContent.matchAll(/[^\\s\\-\\/]+/g)) {
        const range = page.createRange();
        range.setStart(piece, word.index); range.setEnd(piece, word.index + word[0].length);
        if (range.getClientRects().length > 1) broken.push(word[0]);
      }
  p.textContent = "measured " + JSON.stringify(
    {wide: page.documentElement.scrollWidth, smallest: Math.min(...sizes), tops: tops, broken: broken}) + " done";
};"""


def laid_out(page: str, width: int, folder: Path) -> LaidOut:
    """The page on a screen of this width."""
    (folder / "inner.html").write_text(page, encoding="utf-8")
    outer = folder / "outer.html"
    outer.write_text(f"""<iframe id="f" src="inner.html" style="width:{width}px;height:800px;border:0"></iframe>
<p id="p"></p><script>{MEASURE}</script>
""", encoding="utf-8")
    dom = _run(folder, "--allow-file-access-from-files", "--virtual-time-budget=3000", "--dump-dom",
               outer.as_uri()).stdout
    found = re.search(r"measured (\{.*?\}) done</p>", dom)
    assert found, dom[-500:]
    return LaidOut(**json.loads(unescape(found[1])))


def dom_of(page: str, folder: Path) -> str:
    """The page as it stands once its own script has run, as text."""
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    return _run(folder, "--virtual-time-budget=3000", "--dump-dom", file.as_uri()).stdout


def _run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    assert CHROMIUM is not None
    return subprocess.run([CHROMIUM, *FLAGS, f"--user-data-dir={folder / 'profile'}", *arguments],
                          capture_output=True, text=True, timeout=120, check=True)


def _asked(log: Path) -> tuple[str, ...]:
    events = json.loads(log.read_text(encoding="utf-8"))["events"]
    urls = {event["params"]["url"] for event in events if "url" in (event.get("params") or {})}
    return tuple(sorted(url for url in urls if not url.startswith("file:")
                        and not url.split("/")[2].split(":")[0].endswith(ITS_OWN)))
