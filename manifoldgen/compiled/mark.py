"""Marks of compiled routines: `kernel`, `part` and `inlined`.

Every routine that another one calls is compiled, linked and optimised again with its callers, so a first run costs by
their number and by how deep they are nested. Hence three marks: a kernel has its types written out, is compiled when
its module is imported and is what Python calls; a part is compiled once by itself, when the first kernel needs it; an
inlined one is read into the only place that calls it.
"""

from __future__ import annotations

import gc
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import numba
from numba.core.caching import CompileResultCacheImpl, FunctionCache, _CacheLocator
from numba.core.dispatcher import Dispatcher
from numba.core.sigutils import normalize_signature

from manifoldgen.compiled import kept

njit: Any = numba.njit  # its types do not know every option

_DAMAGED = (
    OSError, EOFError, pickle.UnpicklingError, AttributeError, ImportError, LookupError, RuntimeError, TypeError, ValueError,
)  # fmt: skip


def kernel(signature: str) -> Callable[[Callable[..., Any]], Any]:
    """A routine that Python calls, with the types that it takes and returns.

    Arrays are whole and in C order (``f8[:, ::1]``); whole numbers are taken for numbers with a point where the types
    say so. Anything else is refused, never compiled anew.
    """

    def marked(routine: Callable[..., Any]) -> Any:  # noqa: ANN401 - numba has no types
        made = part(routine)
        if isinstance(made, Dispatcher):  # NUMBA_DISABLE_JIT leaves functions as they are
            with _nothing_collected():
                made.compile(signature)
            made.disable_compile()
        return made

    return marked


def part(routine: Callable[..., Any]) -> Any:  # noqa: ANN401
    """A routine that kernels call in several places; its types are those of the first call."""
    made = njit(no_cfunc_wrapper=True)(routine)
    if isinstance(made, Dispatcher) and kept.folder() is not None:
        # what `cache=True` does, with a folder of numba's choice
        made._cache = _Kept(routine)  # type: ignore[attr-defined, no-untyped-call]
    return made


def inlined(routine: Callable[..., Any]) -> Any:  # noqa: ANN401
    """A routine that one other calls, in one place."""
    return njit(inline="always")(routine)


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """No looking for garbage: the compiler makes millions of objects that stay, and looking costs it a tenth."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()


class _Place(_CacheLocator):
    """The folder of this version, with one name for a routine in every clone."""

    def __init__(self, module: str, file: str) -> None:
        self._module, self._py_file = module, file

    @classmethod
    def from_function(cls, py_func: Callable[..., Any], py_file: str) -> _Place:
        return cls(py_func.__module__.partition(".")[2], py_file)

    def get_cache_path(self) -> str:
        return str(kept.folder())

    def get_source_stamp(self) -> str:
        return ""  # the folder's name says it

    def get_disambiguator(self) -> str:
        return self._module


class _Files(CompileResultCacheImpl):
    _locator_classes = [_Place]  # noqa: RUF012 - numba's own form

    def get_filename_base(self, fullname: str, abiflags: str) -> str:  # noqa: ARG002 - numba's signature
        return f"{self.locator.get_disambiguator()}.{fullname.rpartition('.')[2]}"


class _Kept(FunctionCache):
    """numba's cache in our folder: what is damaged or another's is compiled anew, a full disk is no fault."""

    _impl_class = _Files

    def load_overload(self, sig: Any, target_context: Any) -> Any:  # noqa: ANN401
        try:
            found = super().load_overload(sig, target_context)  # type: ignore[no-untyped-call]
        except _DAMAGED:
            with suppress(OSError):
                self.flush()  # type: ignore[no-untyped-call]  # a damaged index could not be added to
            return None
        if found is not None and tuple(found.signature.args) != tuple(normalize_signature(sig)[0]):  # type: ignore[no-untyped-call]
            return None  # two processes that wrote at a time gave one file's name to two of a part's forms
        return found

    def save_overload(self, sig: Any, data: Any) -> None:  # noqa: ANN401
        with suppress(*_DAMAGED):
            super().save_overload(sig, data)  # type: ignore[no-untyped-call]
