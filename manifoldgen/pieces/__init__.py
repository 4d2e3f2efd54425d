"""Runs become pieces of stock, and with the pieces the joints; ids are given here, once."""

from manifoldgen.pieces.split import split

__all__ = ["split"]
