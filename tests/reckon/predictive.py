"""What a belief foretells, which the tests hold against integrals and ratios of evidence."""

import numpy as np

from burnplan.reckon.regression import Array, NormalInverseGamma


def predictive(belief: NormalInverseGamma, rows: Array) -> tuple[float, Array, Array]:
    """Return the Student-t of what will be observed at some rows: df, centre and scale."""
    spread = np.einsum("mi,...im->...m", rows, np.linalg.solve(belief.precision, rows.T))
    scale = np.sqrt(belief.variance[..., None] * (1 + spread))
    return 2 * belief.shape, belief.mean @ rows.T, scale
