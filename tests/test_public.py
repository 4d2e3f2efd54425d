"""What the package offers from Python: names at home in the package, each function with an example that runs."""

from __future__ import annotations

import doctest
import inspect
import pickle

import pytest

import manifoldgen as mg
from tests.worked import JOBS, demo

NAMES = [name for name in mg.__all__ if not inspect.ismodule(getattr(mg, name))]
WITHOUT = {"Built", "Finding", "Page"}  # made by functions whose examples show them


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_is_at_home_in_the_package(name) -> None:
    """`help` and error messages show where to import it from."""
    assert getattr(mg, name).__module__ == "manifoldgen"
    assert getattr(mg, name).__doc__


@pytest.mark.parametrize("name", [n for n in NAMES if not n.endswith("Error") and n not in WITHOUT])
def test_its_example_runs(name, monkeypatch) -> None:
    """Every function and every class that is made by hand has a short example, run here as it stands."""
    monkeypatch.chdir(JOBS.parents[1])
    thing = getattr(mg, name)
    (example,) = doctest.DocTestFinder(recurse=False).find(thing, name, module=False, globs={})

    assert example.examples
    result = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(example)
    assert result.failed == 0


def test_what_travels_to_another_process_comes_back() -> None:
    """A design's parts are pickled by their public names."""
    m = demo("snow_groomer_three").manifold

    assert pickle.loads(pickle.dumps(m)) == m  # noqa: S301 - our own


def test_every_error_is_in_the_tree() -> None:
    """One base to catch: everything in `errors` that can be raised is a `ManifoldgenError`."""
    errors = [getattr(mg, name) for name in NAMES if name.endswith("Error")]

    assert len(errors) >= 7
    assert all(issubclass(error, mg.ManifoldgenError) for error in errors)
