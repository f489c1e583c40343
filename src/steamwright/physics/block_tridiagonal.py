"""Block tridiagonal systems with two unknowns a cell: factor once, solve often, without pivoting.

Elimination runs from both ends to the middle, so that two chains of dependent arithmetic are under way at a time.
Safe for the systems of this package: the diagonal blocks carry storage over a step and the fluxes of both faces.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.compiled import compiled, inlined

Floats = NDArray[np.float64]


@inlined
def eliminate(i: int, side: int, lower: Floats, upper: Floats, inverse: Floats, down: Floats, up: Floats) -> None:
    """Take a neighbor that is already eliminated out of row i, and invert its diagonal block.

    Parameters
    ----------
    i : int
        Row.
    side : int
        -1 takes out the left neighbor, 1 the right one, 0 both, 2 none.
    lower : ndarray, shape (n, 4)
        See `factor`.
    upper : ndarray, shape (n, 4)
        See `factor`.
    inverse : ndarray, shape (n, 4)
        Diagonal block before, its inverse after.
    down : ndarray, shape (n, 4)
        Filled.
    up : ndarray, shape (n, 4)
        Filled.

    References
    ----------
    own derivation
    """
    a, b, c, d = inverse[i, 0], inverse[i, 1], inverse[i, 2], inverse[i, 3]
    l0, l1, l2, l3 = lower[i, 0], lower[i, 1], lower[i, 2], lower[i, 3]
    u0, u1, u2, u3 = upper[i, 0], upper[i, 1], upper[i, 2], upper[i, 3]
    if side in (-1, 0):
        v0, v1, v2, v3 = up[i - 1, 0], up[i - 1, 1], up[i - 1, 2], up[i - 1, 3]
        a, b, c, d = a - (l0 * v0 + l1 * v2), b - (l0 * v1 + l1 * v3), c - (l2 * v0 + l3 * v2), d - (l2 * v1 + l3 * v3)
    if side in (1, 0):
        v0, v1, v2, v3 = down[i + 1, 0], down[i + 1, 1], down[i + 1, 2], down[i + 1, 3]
        a, b, c, d = a - (u0 * v0 + u1 * v2), b - (u0 * v1 + u1 * v3), c - (u2 * v0 + u3 * v2), d - (u2 * v1 + u3 * v3)
    r = 1.0 / (a * d - b * c)
    a, b, c, d = d * r, -b * r, -c * r, a * r
    inverse[i, 0], inverse[i, 1], inverse[i, 2], inverse[i, 3] = a, b, c, d
    down[i, 0], down[i, 1], down[i, 2], down[i, 3] = a * l0 + b * l2, a * l1 + b * l3, c * l0 + d * l2, c * l1 + d * l3
    up[i, 0], up[i, 1], up[i, 2], up[i, 3] = a * u0 + b * u2, a * u1 + b * u3, c * u0 + d * u2, c * u1 + d * u3


@compiled
def factor(lower: Floats, upper: Floats, inverse: Floats, down: Floats, up: Floats) -> None:
    """Factor a block tridiagonal matrix whose off-diagonal blocks are given with their signs turned.

    Parameters
    ----------
    lower : ndarray, shape (n, 4)
        Negatives of the blocks left of the diagonal, row-major; row 0 must be zero.
    upper : ndarray, shape (n, 4)
        Negatives of the blocks right of the diagonal; row n - 1 must be zero.
    inverse : ndarray, shape (n, 4)
        Diagonal blocks before, inverses of the reduced ones after.
    down : ndarray, shape (n, 4)
        Filled with inverse times ``lower``.
    up : ndarray, shape (n, 4)
        Filled with inverse times ``upper``.

    References
    ----------
    own derivation
    """
    n = inverse.shape[0]
    middle = n // 2
    for s in range(middle):
        r = n - 1 - s
        if s == 0:
            eliminate(0, 2, lower, upper, inverse, down, up)
            if r > middle:
                eliminate(r, 2, lower, upper, inverse, down, up)
        else:
            eliminate(s, -1, lower, upper, inverse, down, up)
            if r > middle:
                eliminate(r, 1, lower, upper, inverse, down, up)
    side = 0 if 0 < middle < n - 1 else (-1 if middle > 0 else 2)
    eliminate(middle, side, lower, upper, inverse, down, up)


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
    middle = n // 2
    x, y, p, q = 0.0, 0.0, 0.0, 0.0
    for s in range(middle):
        a, b, r = right[s, 0], right[s, 1], n - 1 - s
        v, w = inverse[s, 0] * a + inverse[s, 1] * b, inverse[s, 2] * a + inverse[s, 3] * b
        x, y = v + down[s, 0] * x + down[s, 1] * y, w + down[s, 2] * x + down[s, 3] * y
        right[s, 0], right[s, 1] = x, y
        if r > middle:
            a, b = right[r, 0], right[r, 1]
            v, w = inverse[r, 0] * a + inverse[r, 1] * b, inverse[r, 2] * a + inverse[r, 3] * b
            p, q = v + up[r, 0] * p + up[r, 1] * q, w + up[r, 2] * p + up[r, 3] * q
            right[r, 0], right[r, 1] = p, q
    m = middle
    a, b = right[m, 0], right[m, 1]
    v = inverse[m, 0] * a + inverse[m, 1] * b + down[m, 0] * x + down[m, 1] * y + up[m, 0] * p + up[m, 1] * q
    w = inverse[m, 2] * a + inverse[m, 3] * b + down[m, 2] * x + down[m, 3] * y + up[m, 2] * p + up[m, 3] * q
    right[m, 0], right[m, 1] = v, w
    x, y, p, q = v, w, v, w
    for s in range(middle - 1, -1, -1):
        x, y = right[s, 0] + up[s, 0] * x + up[s, 1] * y, right[s, 1] + up[s, 2] * x + up[s, 3] * y
        right[s, 0], right[s, 1] = x, y
        r = 2 * middle - s
        if r < n:
            p, q = right[r, 0] + down[r, 0] * p + down[r, 1] * q, right[r, 1] + down[r, 2] * p + down[r, 3] * q
            right[r, 0], right[r, 1] = p, q
