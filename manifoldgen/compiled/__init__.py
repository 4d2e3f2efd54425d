"""Compiled routines: how they are marked, where they are kept, and how they are made ready before they are needed.

A routine that Python calls is a `kernel` with its types written out. What only kernels call is a `part`, or `inlined`
where one place calls it. Kernels and parts are compiled once for a version and kept in the user's cache folder.
"""
