"""A small integer program: columns with several aims, rows with bounds, solved one aim after the other (HiGHS)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

MISSING = 1000.0  # in pieces: what a piece that cannot be had counts
AVOIDED = 100.0  # in pieces: what a weld that should be avoided counts
EQUAL = 1e-6  # how closely a later aim keeps what an earlier one has reached
NODES = 20000  # of the search tree per aim; counted, not timed, so that every run gives the same


@dataclass
class Program:
    """Columns are whole numbers from 0 to their bound.

    aims : what every column counts in pieces, cost and waste.  rows : (columns, least, most).
    spare : columns that the fewest pieces can be found without, because others do for the first aim.
    """

    bounds: list[float] = field(default_factory=list)
    aims: tuple[list[float], list[float], list[float]] = field(default_factory=lambda: ([], [], []))
    rows: list[tuple[Mapping[int, float], float, float]] = field(default_factory=list)
    spare: set[int] = field(default_factory=set)

    def column(self, pieces: float = 0.0, cost: float = 0.0, waste: float = 0.0, *, most: float = 1.0) -> int:
        """A new column with what it counts; its number."""
        self.bounds.append(most)
        for aim, value in zip(self.aims, (pieces, cost, waste), strict=True):
            aim.append(value)
        return len(self.bounds) - 1

    def row(self, columns: Mapping[int, float], least: float, most: float) -> None:
        """The sum of the columns times their factors lies between `least` and `most`."""
        self.rows.append((columns, least, most))

    def solve(self) -> tuple[list[int], bool]:
        """The columns' values, and whether every aim is proven best.

        Raises ValueError where nothing fits.
        """
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        rows, proven = list(self.rows), True
        values: list[int] | None = [] if not self.bounds else None
        most = np.array(self.bounds)
        fewer = most.copy()
        fewer[list(self.spare)] = 0.0
        whole = np.ones(len(self.bounds), dtype=int)
        for aim in self.aims if self.bounds else ():
            used = {k: v for k, v in enumerate(aim) if v}
            if values is not None and not used:
                continue
            starts = np.cumsum([0, *(len(row) for row, _, _ in rows)])
            data = [v for row, _, _ in rows for v in row.values()]
            inner = [k for row, _, _ in rows for k in row]
            matrix = csr_array((data, inner, starts), shape=(len(rows), len(aim)))
            held = LinearConstraint(matrix, [r[1] for r in rows], [r[2] for r in rows])
            found = milp(
                np.array(aim),
                constraints=held,
                integrality=whole,
                bounds=Bounds(0, most if values is not None else fewer),
                options={"mip_rel_gap": 0.0, "node_limit": NODES},
            )
            if found.x is None:
                break
            proven = proven and found.status == 0
            values = [round(v) for v in found.x]
            best = math.fsum(v * values[k] for k, v in used.items())
            rows.append((used, -math.inf, best + EQUAL * max(1.0, abs(best))))
        if values is None:
            raise ValueError("nothing fits")
        return values, proven
