"""Invented demo cases and a kit, each a real-looking job that runs; opened by bare name. The folder `finished` holds a
dozen finished jobs of one made crew."""

import os


def names() -> list[str]:
    """The demo cases by name; the kit is none of them."""
    files = (name.removesuffix(".toml") for name in os.listdir(__path__[0]) if name.endswith(".toml"))
    return sorted(name for name in files if name != "kit")
