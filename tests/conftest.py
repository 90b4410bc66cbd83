"""How all tests run: with compiled modules, as an installed command does, and one worker more than processors."""

from __future__ import annotations

import gc
import os

from hypothesis import settings

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # else each command that a test starts compiles all modules anew
gc.set_threshold(20_000, 20, 20)  # else a fifth of all time goes into looking for garbage among what all tests share
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # else its threads spin for the processors that the workers need


def pytest_xdist_auto_num_workers() -> int:
    """While one waits for keys and clocks of a screen, another works."""
    return (os.cpu_count() or 1) + 1


settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")  # `--hypothesis-profile=default` draws anew
