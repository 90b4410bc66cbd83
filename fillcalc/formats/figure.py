"""A drawing as an SVG that stands inside a page: no date, no outside name, the same bytes each time.

Matplotlib is imported when something is drawn, and never its pyplot. Its settings are its own defaults with
those below, whatever the machine's are.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, GREY, FAINT = "#16242c", "#5c6b73", "#d5dcdf"
STRONG, SECOND = "#0a5c66", "#8f3a06"
"""The colour of what counts and of what stands beside it; both read as dark on grey paper."""

SETTINGS: dict[str, object] = {
    "svg.fonttype": "none", "svg.image_inline": True, "font.family": ["DejaVu Sans"], "font.size": 8.0,
    "text.color": INK, "axes.labelcolor": INK, "axes.edgecolor": GREY, "axes.linewidth": 0.6,
    "axes.labelsize": 8.0, "axes.spines.top": False, "axes.spines.right": False,
    "axes.grid": True, "axes.axisbelow": True, "grid.color": FAINT, "grid.linewidth": 0.5,
    "xtick.color": GREY, "ytick.color": GREY, "xtick.labelcolor": INK, "ytick.labelcolor": INK,
    "xtick.labelsize": 8.0, "ytick.labelsize": 8.0, "xtick.major.width": 0.6, "ytick.major.width": 0.6,
    "lines.linewidth": 1.6, "lines.solid_capstyle": "round", "hatch.linewidth": 0.6, "axes.unicode_minus": False,
    "path.simplify": True, "axes.formatter.useoffset": False,
}


@dataclass(frozen=True)
class Frame:
    """A drawing's name (letters only; no other on the page has it), what it tells in words, and its size in inches."""

    name: str
    words: str
    wide: float = 2.75
    high: float = 1.75


def drawn(frame: Frame, draw: Callable[[Axes], None]) -> str:
    """What `draw` puts on one pair of axes, as an <svg> element without a prolog; text stays text."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with warnings.catch_warnings(), matplotlib.rc_context():
        warnings.simplefilter("ignore")
        settings: Any = matplotlib.rcParams
        settings.update({name: value for name, value in matplotlib.rcParamsDefault.items()
                         if not name.startswith(("backend", "interactive"))})
        settings.update(SETTINGS, **{"svg.hashsalt": frame.name})
        figure = Figure(figsize=(frame.wide, frame.high), layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure.add_subplot())
        written = StringIO()
        figure.savefig(written, format="svg", transparent=True,
                       metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return _inside(written.getvalue(), frame)


def _inside(svg: str, frame: Frame) -> str:
    """The element alone, with its words for those who do not see it, and names no other drawing has."""
    from html import escape

    body = svg[svg.index("<svg"):].strip()
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r"<!--.*?-->\n?", "", body, flags=re.DOTALL)
    body = re.sub(r' xmlns(:\w+)?="[^"]*"', "", body)
    body = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{frame.name}-", body)
    head, _, rest = body.partition(">")
    size = re.search(r'viewBox="([^"]*)"', head)
    box = size[1] if size else "0 0 100 100"
    body = f'<svg viewBox="{box}" role="img" aria-label="{escape(frame.words)}">{rest}'
    return re.sub(r"\n\s*", "\n", body)
