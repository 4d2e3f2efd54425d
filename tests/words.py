"""Words that were replaced: what was said, and what is said now (the page is docs/glossary.md).

One row a word: a regular expression of the old one, matched in whole words and without regard to capitals, and the
better one.  A text is held to the table by `found`; to hold more texts to it, give them to `test_words.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

REPLACED: dict[str, str] = {
    # parts
    r"ring planes?": "collector joint plane",
    r"ring circles?": "inlet circle",
    r"lids?": "transition plate",
    r"stars?": "centre point",
    r"(?<!\()crotch(?:es)?": "outer valley between inlets (crotch)",
    r"merge ends?": "collector end",
    r"bundles?": "plate collector",
    r"gate bars?": "wastegate tube",
    # tools and firms
    r"cutters?": "laser shop, or end mill",
    r"wrench(?:es)?": "spanner",
    r"belt(?! sander)": "belt sander",
    r"torch hand": "torch access",
    # marking and measuring
    r"mm round": "mm around the tube",
    r"round mm": "mm around the tube",
    r"from x to y": "heading (x towards y)",
    r"counter-?clockwise": "anticlockwise",
    r"(?:miss|snapped) (?:mm|°)": "end error, corrected",
    r"infeed": "depth from touch-off",
    r"(?:looking|seen) with the gas": "looking downstream",
    r"gas in": "argon in",
    r"round the clock": "torch reach around each weld",
    r"not sawn": "none",
    # sheets
    r"papers": "shop sheets",
    r"print(?:ed)? anew": "print again",
    r"named patch(?:es)?": "named surfaces",
    r"discoloration": "discolouration",
    r"mind:": "note:",
    r"fault of the program": "internal error",
    # sayings
    r"stayed clear of": "keep-out zones",
    r"adds his own": "laser shop adds kerf",
    r"hold come off": "saw off the grip allowance",
    r"added to hold on to": "the grip allowance",
    r"of it ahead of the joint's line": "grip allowance before the joint line",
    r"goes with the \d+ mm ring": "takes a ring spanner",
    r"name a lower nut": "use a thinner nut",
    r"folds its throat": "collapses its throat",
    r"blame the file": "re-measure before editing the file",
    r"the torch no longer gets round": "once fully tacked, the torch cannot reach them",
    r"have least against": "using the layout with fewest check errors",
    r"no layout keeps every limit with numbers": "no layout meets all limits when rounded to …",
    r"are missing in the gap": "the gap is … short",
    r"no way of up to \w+ bends": "no path with … or fewer bends",
    r"these numbers alone put the end": "rounding to 0.1 moves the end",
    r"missing would otherwise be missed": "a missing sheet might go unnoticed until the saw",
    r"no order of welding reaches": "cannot be fully welded in any sequence",
    r"nothing is left of CLR": "not enough CLR … in stock",
    r"nothing is said about this part": "no findings for this part",
    r"not said by these": "these sheets do not certify",
    r"have twice that": "stock double",
    r"every hole and opening must meet": "all holes and ports must line up",
    r"off the plate by the flange": "lift by the flange",
}

# where a table or a sheet has room for one word only; in a sentence the old one may stand
REPLACED_IN_HEADS: dict[str, str] = {
    r"\Atake\Z": "item",
    r"pieces of stock": "qty",
    r"\Alay\Z": "mark out",
    r"saw(?:n)? through": "section",
    r"put together": "assembly stage",
    r"stroke": "swing",
    r"asked mm": "required mm",
}

_CODE = re.compile(
    r"``.*?``|`[^`]*`|[\w*./-]+\.(?:dxf|pdf|csv|stl|yaml)\b", re.DOTALL
)  # names of code and of files


def found(text: str, table: dict[str, str] = REPLACED) -> Iterator[str]:
    """Each old word in a text as ``old → better``; names of code and files are left alone."""
    plain = _CODE.sub(" ", text)
    for old, better in table.items():
        pattern = r"(?<!\w)" + old.replace(" ", r"\s+") + r"(?!\w)"
        yield from (f"{match[0]} → {better}" for match in re.finditer(pattern, plain, re.IGNORECASE))
