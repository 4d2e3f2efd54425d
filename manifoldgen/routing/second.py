"""The second solver: IPOPT on the very conditions that the first one was given.

An interior point method comes to its answer from inside the limits and sometimes ends where a sequence of
quadratic problems is caught. It costs more a try, so it is asked only where the first solver found nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from manifoldgen.geometry.vectors import Array

_QUIET = {
    "print_time": False,
    "error_on_fail": False,
    "show_eval_warnings": False,
    "ipopt.print_level": 0,
    "ipopt.sb": "yes",
    "ipopt.option_file_name": "",  # no file beside the user's job may change an answer
    "ipopt.hessian_approximation": "limited-memory",
    "ipopt.tol": 1e-5,
    "ipopt.acceptable_tol": 1e-4,
}


def interior(
    cost: Callable[[Array], float],
    start: Array,
    *,
    jac: Callable[[Array], Array],
    bounds: Sequence[tuple[float | None, float | None]],
    constraints: Sequence[dict[str, Any]],
    rounds: int,
) -> Array:
    """The variables that IPOPT ends at.

    Parameters
    ----------
    cost, start, jac, bounds, constraints : as scipy's `minimize` takes them for SLSQP; every constraint has its
        `jac`.
    rounds : iterations at most, so that the answer is the same at any speed of the machine.

    Returns
    -------
    The last variables, of the size of `start`, whether or not they keep the constraints.

    Raises
    ------
    KeyboardInterrupt : the solver was interrupted; and whatever cost or constraints raise.
    """
    import casadi as untyped

    from manifoldgen.routing._casadi import Outside, Slopes
    from manifoldgen.routing.threads import single

    casadi: Any = untyped

    def values(z: Array) -> Array:
        return np.concatenate([[cost(z)], *(c["fun"](z) for c in constraints)])

    def slopes(z: Array) -> Array:
        return np.vstack([jac(z)[None], *(c["jac"](z) for c in constraints)])

    most = np.concatenate([
        np.full(len(c["fun"](start)), 0.0 if c["type"] == "eq" else np.inf) for c in constraints
    ])  # fmt: skip
    size, rows = len(start), 1 + len(most)
    slope = Slopes(slopes, size, (rows, size))
    outside = Outside(values, size, (rows, 1), slope)
    x = casadi.MX.sym("x", size)
    made = outside(x)
    solver = casadi.nlpsol(
        "second", "ipopt", {"x": x, "f": made[0], "g": made[1:]}, {**_QUIET, "ipopt.max_iter": rounds}
    )
    low = np.array([-np.inf if a is None else a for a, _ in bounds])
    high = np.array([np.inf if b is None else b for _, b in bounds])
    with single(("casadi",)):
        found = solver(x0=start, lbx=low, ubx=high, lbg=0.0, ubg=most)
    error = outside.error or slope.error
    if error is not None:
        raise error
    if solver.stats()["return_status"] == "User_Requested_Stop":  # interrupted between two calls of ours
        raise KeyboardInterrupt
    return np.array(found["x"], dtype=float).ravel()
