"""Reference tables with typed access; every value carries its source and how sure it is.

The functions here read our own tables; `with_overrides` gives a `Catalogue` with a shop's rows over them and
the same functions as methods. A name that is not there raises KeyError with the names that are.
"""

from __future__ import annotations

from manifoldgen.catalogue.catalogue import FITS, Catalogue
from manifoldgen.catalogue.records import Curve, Elbow, Head, Material, Nut, Pipe, Thread, Washer
from manifoldgen.catalogue.tables import FILES, File, TableRow, Unknown

STANDARD = Catalogue()

defaults = STANDARD.defaults
elbows = STANDARD.elbows
head = STANDARD.head
hole = STANDARD.hole
material = STANDARD.material
material_names = STANDARD.material_names
nut = STANDARD.nut
nut_kinds = STANDARD.nut_kinds
pipes = STANDARD.pipes
row = STANDARD.row
table = STANDARD.table
thread = STANDARD.thread
threads = STANDARD.threads
washer = STANDARD.washer
with_overrides = STANDARD.with_overrides

__all__ = [
    "FILES",
    "FITS",
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
    "defaults",
    "elbows",
    "head",
    "hole",
    "material",
    "material_names",
    "nut",
    "nut_kinds",
    "pipes",
    "row",
    "table",
    "thread",
    "threads",
    "washer",
    "with_overrides",
]
