"""A headless Chromium for the page's tests: what it complains of, what it asks for, how many sheets it prints."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
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


def on_paper(page: str, size: str) -> str:
    """The page as it would be printed on this paper, A4 or Letter."""
    assert page.count("size: auto") == 1
    return page.replace("size: auto", f"size: {SIZES[size]}")


def width_of_content(page: str, width: int, folder: Path) -> int:
    """How wide the page's content is, in pixels, on a screen of this width."""
    (folder / "inner.html").write_text(page, encoding="utf-8")
    outer = folder / "outer.html"
    outer.write_text(f"""<iframe id="f" src="inner.html" style="width:{width}px;height:800px;border:0"></iframe>
<p id="p"></p><script>f.onload = () => {{
  p.textContent = "wide " + f.contentDocument.documentElement.scrollWidth + " px"; }};</script>
""", encoding="utf-8")
    dom = _run(folder, "--allow-file-access-from-files", "--virtual-time-budget=3000", "--dump-dom",
               outer.as_uri()).stdout
    found = re.search(r"wide (\d+) px", dom)
    assert found, dom[-500:]
    return int(found[1])


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
