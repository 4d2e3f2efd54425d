"""Every test, and every process that a test starts, takes compiled routines out of one folder."""

from __future__ import annotations

import os

from manifoldgen.compiled import kept

# said once, before a test gives the cache another place: what that holds would be compiled again for a minute
os.environ[kept.FOLDER] = str(kept.place().absolute())
