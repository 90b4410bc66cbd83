"""Makes the shipped table of sample points with scipy; run by hand: `python -m fillcalc.job.build_points`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fillcalc.job import points

TABLE = Path(__file__).parent / "tables" / "sobol.npy"
SOBOL_SEED = 20240229


def sobol_points() -> NDArray[np.uint16]:
    """Scrambled Sobol points as whole 65536ths, shape (MOST_COLUMNS, DRAWS)."""
    from scipy.stats import qmc  # type: ignore[import-untyped]

    generator = qmc.Sobol(points.MOST_COLUMNS, scramble=True, rng=np.random.default_rng(SOBOL_SEED))
    return np.ascontiguousarray(generator.random(points.DRAWS).T * 65536.0).astype(np.uint16)


if __name__ == "__main__":
    np.save(TABLE, sobol_points())
