"""Start and end of every command: which verb runs, and what its end means to the shell.

    0    clean
    1    findings of severity error
    2    the file or the call is wrong, or something could not be written
    130  stopped with Ctrl-C

Whatever goes wrong ends in one sentence on stderr. A traceback is shown with `--debug` only; an error that
is ours goes with everything known about it into a log, and the sentence says where that is.
"""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence

from manifoldgen.cli import log, terminal
from manifoldgen.cli.app import app
from manifoldgen.cli.libraries import sentence_for
from manifoldgen.errors import ManifoldgenError

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
        app(args=words, prog_name="manifoldgen")
    except SystemExit as end:
        return _code(end)
    except KeyboardInterrupt:
        terminal.say("stopped")
        return STOPPED
    except ManifoldgenError as error:
        return _fail(str(error), debug)
    except ImportError as error:
        return _fail(sentence_for(error) or log.sentence(error, words), debug)
    except Exception as error:  # noqa: BLE001  the user gets a sentence and a log, never a traceback
        return _fail(log.sentence(error, words), debug)
    return 0


def _code(end: SystemExit) -> int:
    if isinstance(end.code, int):
        return end.code
    return 0 if end.code is None else WRONG


def _fail(sentence: str, debug: bool) -> int:  # noqa: FBT001
    if debug:
        terminal.say(traceback.format_exc().rstrip())
    terminal.say(sentence)
    return WRONG
