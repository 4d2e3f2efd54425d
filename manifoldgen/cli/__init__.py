"""The command line: one file per verb, the heavy libraries imported inside the verb that needs them."""

from manifoldgen.cli.main import main

__all__ = ["main"]
