"""From tape distances and gauge angles to the turbo's pose and named points, by least squares."""
