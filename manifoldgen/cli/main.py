"""Start and end of every command: which verb runs, and what its end means to the shell.

    0    clean
    1    findings of severity error
    2    the file or the call is wrong, or something could not be written
    130  stopped with Ctrl-C

Whatever goes wrong ends in one sentence on stderr, with ``--format json`` in an object on stdout as well. A traceback is shown with `--debug` only; an error that
is ours goes with everything known about it into a log, and the sentence says where that is.
"""

from __future__ import annotations

import json
import sys
from itertools import pairwise
from typing import TYPE_CHECKING

from manifoldgen.cli import terminal
from manifoldgen.cli.plain import plain
from manifoldgen.errors import ManifoldgenError, ParameterError

if TYPE_CHECKING:
    from collections.abc import Sequence

WRONG = 2
STOPPED = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    argv : the words after the program's name; those of this process if None.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    debug = "--debug" in words
    words = [word for word in words if word != "--debug"]
    terminal.prepare()
    try:
        return _run(words)
    except SystemExit as end:
        return _code(end)
    except KeyboardInterrupt:
        terminal.say("stopped")
        return STOPPED
    except ManifoldgenError as error:
        if _json_asked(words):
            terminal.emit(_as_json(error))
        return _fail(str(error), debug)
    except ImportError as error:
        from manifoldgen.cli.libraries import sentence_for

        return _fail(sentence_for(error) or _logged(error, words), debug)
    except Exception as error:  # noqa: BLE001  the user gets a sentence and a log, never a traceback
        return _fail(_logged(error, words), debug)


def _run(words: list[str]) -> int:
    """One command: a plain call answered at once, any other through the parser, which is loaded only then."""
    if (asked := plain(words)) is not None:
        from manifoldgen.cli.worked import answer

        return answer(asked.file, done=asked.done, undo=asked.undo, as_json=asked.as_json)
    from manifoldgen.cli.app import app

    app(args=words, prog_name="manifoldgen")
    return 0


def _json_asked(words: Sequence[str]) -> bool:
    """Whether stdout is read by a program: ``--format json`` in either spelling."""
    return "--format=json" in words or ("--format", "json") in pairwise(words)


def _as_json(error: ManifoldgenError) -> str:
    """What is wrong, a sentence each with its place, as ``{"ok": false, "errors": [...]}``."""
    told = error.problems if isinstance(error, ParameterError) else (str(error),)
    return json.dumps({"ok": False, "errors": list(told)}, ensure_ascii=False)


def _logged(error: BaseException, words: Sequence[str]) -> str:
    from manifoldgen.cli import log

    return log.sentence(error, words)


def _code(end: SystemExit) -> int:
    if isinstance(end.code, int):
        return end.code
    return 0 if end.code is None else WRONG


def _fail(sentence: str, debug: bool) -> int:  # noqa: FBT001
    if debug:
        import traceback

        terminal.say(traceback.format_exc().rstrip())
    terminal.say(sentence)
    return WRONG
