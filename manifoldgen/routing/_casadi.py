"""A function for casadi that is computed outside of it, with its slopes; imports casadi, so import it late."""

# mypy: ignore-errors
# ruff: noqa: ARG002 - casadi asks with arguments that a single input or output does not need
from __future__ import annotations

from collections.abc import Callable

import numpy as np
from casadi import DM, Callback, Sparsity

from manifoldgen.geometry.vectors import Array


class Outside(Callback):
    """`function` of one vector of `size` numbers, dense, `shape` its answer's.

    slopes : the same for its slopes, None where they are not asked for.  error : what the function raised; it
        answers nothing from then on, as an error cannot pass through casadi.
    """

    def __init__(
        self,
        function: Callable[[Array], Array],
        size: int,
        shape: tuple[int, int],
        slopes: Slopes | None = None,
    ) -> None:
        super().__init__()
        self.function, self.size, self.shape, self.slopes = function, size, shape, slopes
        self.error: BaseException | None = None
        self.construct("outside", {})

    def get_n_in(self) -> int:
        """One vector."""
        return 1

    def get_n_out(self) -> int:
        """One answer."""
        return 1

    def get_sparsity_in(self, i: int) -> Sparsity:
        """Every number may matter."""
        return Sparsity.dense(self.size, 1)

    def get_sparsity_out(self, i: int) -> Sparsity:
        """Every number is answered."""
        return Sparsity.dense(*self.shape)

    def eval(self, arguments: list[DM]) -> list[DM]:
        """The answer, or not-a-numbers after an error."""
        try:
            if self.error is None:
                return [DM(self.function(np.array(arguments[0], dtype=float).ravel()))]
        except BaseException as error:  # noqa: BLE001 - raised again by whoever called the solver
            self.error = error
        return [DM(np.full(self.shape, np.nan))]

    def has_jacobian(self) -> bool:
        """Whether slopes are given."""
        return self.slopes is not None

    def get_jacobian(self, name: str, given: list[str], answered: list[str], options: dict) -> Slopes:
        """The slopes, under the name casadi asks for."""
        self.slopes.construct(name, options)
        return self.slopes


class Slopes(Outside):
    """Slopes (rows, size) of a function of `size` numbers; casadi hands the function's own answer along."""

    def construct(self, name: str, *options: dict) -> None:
        """Built when casadi asks for it, under its name."""
        if name != "outside":
            super().construct(name, *options)

    def get_n_in(self) -> int:
        """The vector and the function's answer."""
        return 2

    def get_sparsity_in(self, i: int) -> Sparsity:
        """Both in full."""
        return Sparsity.dense(self.shape[0] if i else self.size, 1)
