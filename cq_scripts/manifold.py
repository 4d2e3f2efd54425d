"""A whole manifold from a job file: every part with its name and colour, for CQ-editor or CQGI.

Give `job` as it lies from this script, from where the editor was started, or in full.
"""

# ruff: noqa: F821 - show_object comes from whoever runs this

import sys
from pathlib import Path

import manifoldgen as mg
from manifoldgen.solids.tree import colours

job = "jobs/sand_rail_four.yaml"
pieces = False  # True: every piece of tube on its own


def describe_parameter(parameter: object, text: str) -> None:
    """CQGI reads the calls in the script's text; when it runs there is nothing to do (CadQuery's own takes no text)."""


describe_parameter(job, "the job's parameter file: from this script, from the working folder, or in full")
describe_parameter(pieces, "show every piece of tube on its own, by its number on the sheets")


def places() -> list[Path]:
    """Folders a job may lie in: beside this script, as far as whoever runs it says where that is, then others."""
    beside = [Path(__file__).parent] if "__file__" in globals() else []  # CQGI knows the text alone
    put_by_editor = [Path(folder) for folder in sys.path[:1]]
    clone = Path(mg.__file__).parents[1] / "cq_scripts"
    return [*beside, *put_by_editor, Path.cwd(), clone]


def job_file() -> Path:
    """The job's file, the first there is."""
    looked = [folder / job for folder in places()]
    found = next((file for file in looked if file.is_file()), None)
    if found is None:
        tried = ", ".join(dict.fromkeys(str(file) for file in looked))
        raise FileNotFoundError(f"there is no job {job}, give `job` in full; looked for: {tried}")
    return found


file = job_file()
print(f"the job shown is {file}")  # noqa: T201
manifold = mg.design(file).manifold
solids = mg.solids.build(manifold)
colour_of = colours(manifold)

for error in solids.errors:
    print(error)  # noqa: T201

if "show_object" in globals():
    for name, shape in solids.parts.items():
        inside = [piece for piece, part in solids.part_of.items() if part == name] if pieces else []
        colour = tuple(round(255 * c) for c in colour_of[name])
        for shown, solid in [(p, solids.pieces[p]) for p in inside] or [(name, shape)]:
            show_object(solid, name=shown, options={"color": colour})
