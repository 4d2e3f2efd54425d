"""A whole manifold from a job file: every part with its name and colour, for CQ-editor or CQGI.

Give `job` as an absolute path, or as a path from where the editor was started.
"""

import manifoldgen as mg
from manifoldgen.solids.tree import colours

job = "cq_scripts/jobs/sand_rail_four.yaml"
pieces = False  # True: every piece of tube on its own

manifold = mg.design(job).manifold
solids = mg.solids.build(manifold)
colour_of = colours(manifold)

for error in solids.errors:
    print(error)  # noqa: T201

if "show_object" in globals():
    for name, shape in solids.parts.items():
        inside = [piece for piece, part in solids.part_of.items() if part == name] if pieces else []
        colour = tuple(round(255 * c) for c in colour_of[name])
        for shown, solid in [(p, solids.pieces[p]) for p in inside] or [(name, shape)]:
            show_object(solid, name=shown, options={"color": colour})  # noqa: F821
