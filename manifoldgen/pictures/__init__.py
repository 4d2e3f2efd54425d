"""Shaded pictures of triangle meshes, drawn offscreen."""

from manifoldgen.pictures.shaded import VIEWS, View, draw

__all__ = ["VIEWS", "View", "draw"]
