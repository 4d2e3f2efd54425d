"""Shaded pictures of triangle meshes, drawn offscreen."""

from manifoldgen.pictures.draw import VIEWS, View, draw

__all__ = ["VIEWS", "View", "draw"]
