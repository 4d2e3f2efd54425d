"""Everything a job gives, written whole or not at all: checks, solids, shop sheets, printed parts, page."""

from manifoldgen.results.write import Built, build

__all__ = ["Built", "build"]
