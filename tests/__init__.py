"""Tests, a folder a room; shared jobs, layouts and strategies beside them."""
