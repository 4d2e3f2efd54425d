"""Fills the paths that a parameter file leaves open."""
