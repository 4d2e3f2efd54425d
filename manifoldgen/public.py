"""Names that are offered by the package itself say so: help and errors show ``manifoldgen.Bend``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T", bound=type[Any] | Callable[..., Any])


def public(thing: T) -> T:
    """The class or function itself, at home in the package."""
    thing.__module__ = "manifoldgen"
    return thing
