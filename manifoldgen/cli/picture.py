"""`manifoldgen picture FILE -o PNG`: a shaded picture of the solids, drawn without a screen."""

from __future__ import annotations

from difflib import get_close_matches
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.job import SEED
from manifoldgen.cli.options import JobFile, SeedOption
from manifoldgen.errors import ManifoldgenError

if TYPE_CHECKING:
    from manifoldgen.mesh.triangles import Mesh
    from manifoldgen.solids import Solids


class ViewName(StrEnum):
    """Where the picture is taken from."""

    ISO = "iso"
    X = "x"
    Y = "y"
    Z = "z"


def picture(
    file: JobFile,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="PNG", help="The picture to write.")],
    view: Annotated[
        ViewName, typer.Option(help="iso; x from the far end, y from the side, z from above.")
    ] = (ViewName.ISO),
    only: Annotated[
        str | None, typer.Option(metavar="PART", help="One part or piece: 'runner 2', 'collector', R2-P3.")
    ] = None,
    seed: SeedOption = SEED,
) -> None:
    """Draw the manifold, or one part of it, as a PNG."""
    if output.suffix.lower() != ".png":
        raise ManifoldgenError(f"a picture is a PNG: -o {output} should end in .png")
    if not output.absolute().parent.is_dir():
        raise ManifoldgenError(f"there is no folder {output.parent} to write the picture into")
    from manifoldgen.cli.job import designed
    from manifoldgen.export.one_file import write_file
    from manifoldgen.pictures import draw
    from manifoldgen.results.made import timed

    design = designed(file, seed=seed)
    if design.open_paths:
        raise ManifoldgenError(f"{', '.join(design.open_paths)} has no path yet, so there is nothing to draw")
    with timed("solids", terminal.say):
        from manifoldgen.solids import build

        meshes = _chosen(build(design.manifold), only)
    with timed("picture", terminal.say):
        write_file(output, draw(meshes, view.value))
    terminal.say(f"written to {output}")


def _chosen(solids: Solids, only: str | None) -> tuple[Mesh, ...]:
    from manifoldgen.export.meshes import part_meshes, piece_meshes

    assembly = solids.assembly
    parts = part_meshes(assembly)
    if only is None:
        return parts
    named = {mesh.name: mesh for mesh in (*piece_meshes(assembly), *parts)}
    if only not in named:
        close = get_close_matches(only, named, n=1, cutoff=0.5)
        hint = f"did you mean {close[0]}?" if close else f"there are {', '.join(p.name for p in parts)}"
        raise ManifoldgenError(f"there is no part {only}; {hint}")
    return (named[only],)
