"""The numbers of a job as report.json holds them, without the CAD kernel."""

from manifoldgen.report.numbers import dump, report

__all__ = ["dump", "report"]
