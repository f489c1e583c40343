"""Block tridiagonal systems with two unknowns a cell: factor once, solve often, without pivoting.

Safe for the systems of this package: the diagonal blocks carry storage over a step and the fluxes of both faces.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.compiled import compiled

Floats = NDArray[np.float64]


@compiled
def factor(lower: Floats, diagonal: Floats, upper: Floats, inverse: Floats, down: Floats, up: Floats) -> None:
    """Factor a block tridiagonal matrix.

    Parameters
    ----------
    lower : ndarray, shape (n, 4)
        Blocks left of the diagonal, row-major; row 0 is not read.
    diagonal : ndarray, shape (n, 4)
        Diagonal blocks.
    upper : ndarray, shape (n, 4)
        Blocks right of the diagonal; row n - 1 is not read.
    inverse : ndarray, shape (n, 4)
        Filled with the inverses of the reduced diagonal blocks.
    down : ndarray, shape (n, 4)
        Filled with inverse times lower.
    up : ndarray, shape (n, 4)
        Filled with inverse times upper.

    References
    ----------
    own derivation
    """
    n = diagonal.shape[0]
    for i in range(n):
        a, b, c, d = diagonal[i, 0], diagonal[i, 1], diagonal[i, 2], diagonal[i, 3]
        if i > 0:
            l0, l1, l2, l3 = lower[i, 0], lower[i, 1], lower[i, 2], lower[i, 3]
            u0, u1, u2, u3 = up[i - 1, 0], up[i - 1, 1], up[i - 1, 2], up[i - 1, 3]
            a -= l0 * u0 + l1 * u2
            b -= l0 * u1 + l1 * u3
            c -= l2 * u0 + l3 * u2
            d -= l2 * u1 + l3 * u3
        r = 1.0 / (a * d - b * c)
        i0, i1, i2, i3 = d * r, -b * r, -c * r, a * r
        inverse[i, 0], inverse[i, 1], inverse[i, 2], inverse[i, 3] = i0, i1, i2, i3
        if i > 0:
            down[i, 0], down[i, 1] = i0 * l0 + i1 * l2, i0 * l1 + i1 * l3
            down[i, 2], down[i, 3] = i2 * l0 + i3 * l2, i2 * l1 + i3 * l3
        if i < n - 1:
            u0, u1, u2, u3 = upper[i, 0], upper[i, 1], upper[i, 2], upper[i, 3]
            up[i, 0], up[i, 1] = i0 * u0 + i1 * u2, i0 * u1 + i1 * u3
            up[i, 2], up[i, 3] = i2 * u0 + i3 * u2, i2 * u1 + i3 * u3


@compiled
def solve(inverse: Floats, down: Floats, up: Floats, right: Floats) -> None:
    """Solve for one right-hand side in place.

    Parameters
    ----------
    inverse : ndarray, shape (n, 4)
        From `factor`.
    down : ndarray, shape (n, 4)
        From `factor`.
    up : ndarray, shape (n, 4)
        From `factor`.
    right : ndarray, shape (n, 2)
        Right-hand side, replaced by the solution.

    References
    ----------
    own derivation
    """
    n = right.shape[0]
    x, y = 0.0, 0.0
    for i in range(n):
        r, s = right[i, 0], right[i, 1]
        p = inverse[i, 0] * r + inverse[i, 1] * s
        q = inverse[i, 2] * r + inverse[i, 3] * s
        if i > 0:
            p, q = p - (down[i, 0] * x + down[i, 1] * y), q - (down[i, 2] * x + down[i, 3] * y)
        x, y = p, q
        right[i, 0], right[i, 1] = x, y
    for i in range(n - 2, -1, -1):
        x, y = right[i, 0] - (up[i, 0] * x + up[i, 1] * y), right[i, 1] - (up[i, 2] * x + up[i, 3] * y)
        right[i, 0], right[i, 1] = x, y
