"""The list of commands."""

from __future__ import annotations

from typing import Annotated

import typer

from manifoldgen.cli.build import build
from manifoldgen.cli.check import check
from manifoldgen.cli.doctor import doctor
from manifoldgen.cli.explain import explain
from manifoldgen.cli.init import init
from manifoldgen.cli.picture import picture
from manifoldgen.cli.route import route
from manifoldgen.cli.schema import schema
from manifoldgen.cli.survey import survey
from manifoldgen.cli.view import view
from manifoldgen.cli.worklist import worklist

app = typer.Typer(
    name="manifoldgen",
    help="Tubular turbo manifolds from one parameter file: checks, solids, files for the shop.",
    epilog="Every command takes --debug (show where an error came from) and --help.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:  # noqa: FBT001
    if wanted:
        from importlib.metadata import version

        typer.echo(f"manifoldgen {version('manifoldgen')}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    pass


for verb in (init, check, route, build, picture, view, survey, worklist, explain, schema, doctor):
    app.command()(verb)
