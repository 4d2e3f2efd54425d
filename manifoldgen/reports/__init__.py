"""The numbers of a job as report.json holds them, without the CAD kernel."""

from manifoldgen.reports.mass import whole_kg
from manifoldgen.reports.numbers import SCHEMA_VERSION, counts, dump, report

__all__ = ["SCHEMA_VERSION", "counts", "dump", "report", "whole_kg"]
