"""Who belongs to whom: the assignment of rows to columns with the largest total, and how clear each pair is.

The shortest augmenting path method with dual prices (R. Jonker and A. Volgenant, Computing 38, 325-340, 1987), exact in
O(columns³).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Floats

FORBIDDEN = -1e6
"""A score for pairs that must not be; far below any sum of levels in dB, and exact in double precision."""


class Assignment:
    """Rows to columns, `scores` as [rows, columns] with no more rows than columns, all finite."""

    def __init__(self, scores: Floats) -> None:
        rows, columns = scores.shape
        self._cost: Floats = np.zeros((columns, columns))  # rows that stand for "nobody" make every column taken
        self._cost[:rows] = -scores
        self._prices: Floats = np.zeros(columns)
        self._owner: npt.NDArray[np.int64] = np.full(columns, -1, np.int64)
        for row in range(columns):
            self._augment(row)
        self.column: npt.NDArray[np.int64] = np.argsort(self._owner)[:rows]
        """The column of each row."""
        self.total = self._sum()

    def clearness(self, row: int) -> float:
        """By how much the total falls when this row must take another column; never below 0."""
        prices, owner, was = self._prices.copy(), self._owner.copy(), self.column[row]
        kept = self._cost[row, was]
        self._cost[row, was] = -FORBIDDEN
        self._owner[was] = -1
        self._augment(row)
        total = self._sum()
        self._cost[row, was] = kept
        self._prices, self._owner = prices, owner
        return max(0.0, self.total - total)

    def _sum(self) -> float:
        return float(-self._cost[self._owner, np.arange(len(self._owner))].sum())

    def _augment(self, row: int) -> None:
        """Give `row` a column on the cheapest path of changes; the prices stay such that no change would pay."""
        columns = len(self._prices)
        distance = np.full(columns, np.inf)
        before = np.full(columns, -1, np.int64)
        done = np.zeros(columns, np.bool_)
        at, spent, last = row, 0.0, -1
        while True:
            reduced = self._cost[at] - self._prices
            base = 0.0 if last < 0 else reduced[last]
            fresh = spent + reduced - base
            nearer = ~done & (fresh < distance)
            distance[nearer], before[nearer] = fresh[nearer], last
            last = int(np.argmin(np.where(done, np.inf, distance)))
            spent = float(distance[last])
            done[last] = True
            at = int(self._owner[last])
            if at < 0:
                break
        self._prices[done] += distance[done] - spent
        while last >= 0:
            previous = int(before[last])
            self._owner[last] = row if previous < 0 else self._owner[previous]
            last = previous
