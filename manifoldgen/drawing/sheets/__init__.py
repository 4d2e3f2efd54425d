"""The build sheets: what is clipped to the bench, one page a runner and common sheets around them."""

from manifoldgen.drawing.sheets.build import build_sheets

__all__ = ["build_sheets"]
