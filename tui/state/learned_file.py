"""Writing own figures to a file: a new one, or in place of one that nobody has edited since it was learned."""

from __future__ import annotations

from hashlib import sha256

from fillcalc.case.disk import NotAFile, read_ordinary
from fillcalc.case.read import MOST_BYTES
from fillcalc.case.save import ChangedUnderneath, save
from fillcalc.units.printable import shown

MARK = "# learned, not edited: "
"""Before the digest of all lines above; a file whose digest does not fit has been edited."""


def write_learned(path: str, text: str) -> tuple[str, bool]:
    """Return a sentence that says what was done, and whether the figures were written.

    Raises nothing: a place that cannot be written, a file of another kind and one that was edited by hand are left as
    they are, and the sentence says so.
    """
    name = shown(path)
    try:
        before = _there(path)
        if before is not None and not untouched(before):
            return f"{name} is there already and was written or edited by hand. It is left as it is. " \
                   "Give another name.", False
        save(path, marked(text).encode("utf-8"), before)
    except ChangedUnderneath:
        return f"{name} changed meanwhile. It is left as it is. Try again.", False
    except NotAFile:
        return f"{name} is no ordinary file and is left as it is.", False
    except (OSError, ValueError) as error:
        return f"{name} cannot be written: {getattr(error, 'strerror', None) or error}.", False
    return f"{'Written' if before is None else 'Replaced'}: {name}. Cases beside it use it; --own none leaves it " \
           "out.", True


def marked(text: str) -> str:
    """Return the text with the mark of one that nobody has edited."""
    return f"{text}\n{MARK}{_digest(text)}\n"


def untouched(data: bytes) -> bool:
    """Whether a file is one of learned figures that nobody has edited since."""
    text, mark, digest = data.decode("utf-8", "replace").rpartition(f"\n{MARK}")
    return bool(mark) and digest.strip() == _digest(text)


def _digest(text: str) -> str:
    return sha256(text.encode("utf-8")).hexdigest()[:16]


def _there(path: str) -> bytes | None:
    try:
        return read_ordinary(path, MOST_BYTES)
    except FileNotFoundError:
        return None
