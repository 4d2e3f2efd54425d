"""Exact tangent paths, plane contours, certified distances: pure numbers, no CAD kernel."""
