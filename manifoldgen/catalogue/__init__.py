"""Reference tables with typed access; every value carries its source and how sure it is.

`STANDARD` holds our own tables; `Catalogue.with_overrides` gives those with a shop's rows over them. A job has its
own catalogue (`Parameters.tables`, `Manifold.tables`), and everything that looks at a job reads that one: outside
this room only what comes before a job names STANDARD. A name that is not there raises KeyError with the names
that are, or with what to add.
"""

from __future__ import annotations

from manifoldgen.catalogue.catalogue import FITS, NUTS, SIZES, Catalogue
from manifoldgen.catalogue.records import Curve, Elbow, Head, Material, Nut, Pipe, Thread, Washer
from manifoldgen.catalogue.tables import FILES, File, TableRow, Unknown, plain

STANDARD = Catalogue()

__all__ = [
    "FILES",
    "FITS",
    "NUTS",
    "SIZES",
    "STANDARD",
    "Catalogue",
    "Curve",
    "Elbow",
    "File",
    "Head",
    "Material",
    "Nut",
    "Pipe",
    "TableRow",
    "Thread",
    "Unknown",
    "Washer",
    "plain",
]
