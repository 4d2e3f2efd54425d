"""Paper: a neutral drawing in mm, its PDF, DXF and SVG writers, and the sheets made of it."""
