"""Lines of equal value through a grid, by marching squares (Lorensen & Cline 1987 in two dimensions, from
memory)."""

from __future__ import annotations

import numpy as np

from motion.errors import FloatArray

Segment = tuple[tuple[float, float], tuple[float, float]]


def contour(values: FloatArray, x: FloatArray, y: FloatArray, level: float) -> list[Segment]:
    """Straight pieces where a grid (rows, columns), linear between its nodes, takes the value `level`.

    x (columns,), y (rows,): places of the nodes. Cells with a node that is not finite have no pieces. A
    saddle is split by the mean of its corners.
    """
    pieces: list[Segment] = []
    for row in range(len(y) - 1):
        for column in range(len(x) - 1):
            # Corners in turn round the cell.
            corners = [(row, column), (row, column + 1), (row + 1, column + 1), (row + 1, column)]
            height = np.array([values[corner] for corner in corners]) - level
            if not np.isfinite(height).all():
                continue
            above = height >= 0.0
            crossed = []
            for a in range(4):
                b = (a + 1) % 4
                if above[a] != above[b]:
                    share = float(height[a] / (height[a] - height[b]))
                    (ra, ca), (rb, cb) = corners[a], corners[b]
                    crossed.append(
                        (float(x[ca] + share * (x[cb] - x[ca])), float(y[ra] + share * (y[rb] - y[ra])))
                    )
            if len(crossed) == 2:
                pieces.append((crossed[0], crossed[1]))
            elif len(crossed) == 4:
                # Pair the crossings so that the middle joins the corners it agrees with.
                first = above[0] == (float(height.mean()) >= 0.0)
                pairs = ((0, 1), (2, 3)) if first else ((3, 0), (1, 2))
                pieces += [(crossed[a], crossed[b]) for a, b in pairs]
    return pieces
