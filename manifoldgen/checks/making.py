"""Findings that no check makes: what a build could not make, told beside what the checks found."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding, FindingKind, Severity
from manifoldgen.extensions import Fault

SOLID_NOT_SOUND = FindingKind(
    name="solid-not-sound",
    means="The solid of a part failed its own acceptance: closed, one body, the right number of openings, the right "
    "volume.",
    why="A solid that is not sound gives wrong files without saying so; it is not written.",
    do="Mend the other errors first: overlapping tubes and ends that miss are the usual cause.",
)
NOT_MADE = FindingKind(
    name="not-made",
    severities=("error", "warning"),
    means="Some of the shop sheets or the page (an error), or one of the printed parts or what another package adds (a "
    "warning), could not be made; the sentence says which and why.",
    why="A missing sheet might go unnoticed until the saw. Everything else of the build is there and whole.",
    do="Mend the other errors first. If there are none, do what the sentence asks and build again.",
)
KINDS = (SOLID_NOT_SOUND, NOT_MADE)


def unsound(part: str, reason: str) -> Finding:
    """A part whose solid was not accepted, or that could not be joined to the others."""
    return SOLID_NOT_SOUND.finding(
        message=f"{part} is not sound: {reason}.",
        do="Do what the sentence asks; if it asks for nothing, mend the other errors first.",
        parts=(part,),
    )


def not_made(what: str, why: str, severity: Severity = "error") -> Finding:
    """A file or a part that is missing from the build.  what : it.  why : a sentence, or its beginning."""
    return NOT_MADE.finding(
        severity=severity,
        message=f"{what} not made: {why.rstrip('.')}.",
        do="Mend the other errors first; if there are none, do what the sentence asks.",
    )


def not_added(what: str, fault: Fault) -> Finding:
    """What another package should have added to the build."""
    return NOT_MADE.finding(
        severity="warning",
        message=f"{what} not made: {fault.told}.",
        do=f"Tell the makers of {fault.extension.package}, with the log; everything else was made.",
    )
