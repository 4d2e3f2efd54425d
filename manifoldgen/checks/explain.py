"""What each finding means, why it matters, what to do: one text a name, in shop language."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from manifoldgen.errors import ManifoldgenError


def _text(means: str, why: str, do: str) -> str:
    return f"{means}\n\nWhy: {why}\n\nDo: {do}"


EXPLANATIONS: Mapping[str, str] = MappingProxyType({
    "path-misses-inlet": _text(
        "A runner does not end on its collector inlet, in place or in direction, or its `close` found no way.",
        "Up to limits.fit_up the end is snapped onto the inlet; more than that would be a kink and a gap at the weld.",
        "End the runner with `close`, or correct its last straights and bends. If its ends are right, the collector is "
        "not where you think: check the turbo position, collector.path and clock.",
    ),
    "path-auto": _text(
        "A path is still to be found: it is `auto`, or ends with a `close` that has not been worked out.",
        "What is not there cannot be measured: gaps, lengths and pieces of this tube are not checked yet.",
        "`manifoldgen route` finds it, and `manifoldgen build` before anything is made; or write the path out.",
    ),
    "runner-gap": _text(
        "Two runners are closer, wall to wall, than the gap asked at that place.",
        "They must be welded, sanded and bolted up, and they move as they heat. The full gap is asked in between; less "
        "is asked near the head flange (flange_zone) and near the inlets (merge_zone), rising over `ramp`.",
        "Move one runner by the millimetres given, at the two points given: another roll, a longer straight, or the "
        "other runner first. A bundle that is tight everywhere wants a smaller tube or tighter bends.",
    ),
    "self-gap": _text(
        "A tube comes back too close to itself.",
        "A loop that touches itself cannot be welded, and rubs through.",
        "Open the loop: a longer straight between the two bends, less bend, or a roll that carries it past itself.",
    ),
    "other-gap": _text(
        "A tube is too close to a part it is not joined to (collector, outlet, branch, a flange), or runs into one "
        "that it is joined to.",
        "Torch, nuts and heat need the room. Near its own inlet a runner may be close to the collector, never in it.",
        "Move the tube by the millimetres given. Often a longer outlet or collector.path makes the room.",
    ),
    "obstacle-gap": _text(
        "A tube, a flange, the valve or the collector is closer to an obstacle than that obstacle's clearance.",
        "The engine moves on its mounts and the tubes grow as they heat: what is too close will knock.",
        "Move the tube, or the obstacle. If the obstacle's shape is rough, measure it closer or lower its clearance.",
    ),
    "heat-gap": _text(
        "Something marked heat_sensitive is closer to a hot part than limits.heat_gap.",
        "A glowing tube cooks hoses, wiring and paint by radiation alone.",
        "Move one of them, or put a shield between and set limits.heat_gap to what the shield allows.",
    ),
    "stud-out-of-reach": _text(
        "No tool gets on this nut and turns it: sockets with and without extension, wobble and swivel, rings, open end "
        "were all tried, with tool_margin mm to spare.",
        "A nut that cannot be tightened with the tubes welded on leaks, and one that cannot be undone costs the "
        "manifold.\n\n"
        "      __ ratchet __\n"
        "        |  |   ( tube )   the socket needs this column free,\n"
        "        |##|              the handle its arc above it\n"
        "     ===|nut|====== flange",
        "Move what is named by the millimetres given, along the vector given. A longer first straight lifts the bend "
        "above the socket; a roll of the first bend carries it past the stud.",
    ),
    "stud-no-ratchet": _text(
        "The nut can be turned, but only with a spanner: no ratchet with a socket gets on it.",
        "It is slow and skins knuckles; some want it, most do not.",
        "Make room above the stud, or have that spanner ready. Nothing is wrong with the job.",
    ),
    "nut-will-not-come-off": _text(
        "The nut with its washer runs into something before it is off the end of the stud.",
        "Then the flange cannot be taken off, or not put on in the first place.",
        "A shorter stud, a nut with less height, or the tube moved away from the stud's axis.",
    ),
    "flange-will-not-slide-off": _text(
        "With all nuts off, the manifold does not travel far enough along its studs to come free.",
        "It then has to be cut off, or the engine lifted out.",
        "Shorter studs, the obstacle moved, or taken off first. Studs that are not parallel lock the flange: use "
        "screws there.",
    ),
    "weld-stuck": _text(
        "Some of this weld cannot be reached by the torch in any order of welding.",
        "What is not fused from outside leaks or cracks there. Where a way out is known it is stated, and this is a "
        "warning.",
        "Follow the way out given: the joint moved along its straight, a longer stub at the inlet, or the inlet welded "
        "to its runner before the collector is closed.",
    ),
    "weld-apart": _text(
        "These welds cannot be finished with everything in place; they come in an earlier stage.",
        "Tacked up complete, the torch no longer gets round them. The stages say what is on the bench when.",
        "Follow the work list: tack in place all that can be, trial fit on the engine, mark across every joint, take "
        "apart, weld stage by stage, put together again on the plate and weld the last stage there.",
    ),
    "size-assumed": _text(
        "Reach was worked out with sizes from memory: tool heads, torch, bolt lengths.",
        "Your ratchet and torch may be larger. A millimetre decides now and then.",
        "Measure yours once and write them into the shop file; every job then uses them.",
    ),
    "not-used-yet": _text(
        "A part of the file was read and checked, but nothing is worked out from it yet.",
        "So that nothing you wrote is dropped without a word.",
        "Nothing. Leave it in.",
    ),
    "drain-fall": _text(
        "The turbo's oil drain does not fall all the way, or leans too far from plumb.",
        "Oil leaves the turbo as foam, by gravity alone. A drain that runs level or uphill backs up, and the turbo "
        "smokes. 35° from plumb is common practice, no published limit.",
        "Raise the turbo, turn its centre housing, or take a return port further below. Straight down is best:\n\n"
        "      turbo o            turbo o\n"
        "            |                  \\__.--' return\n"
        "            o return     (backs up)",
    ),
    "bend-too-tight": _text(
        "A bend's centreline radius folds its throat (CLR at most half the OD), or is tighter than anything in stock.",
        "At CLR = OD/2 the inside of the bend has no length left; well above it tube still wrinkles and thins.",
        "Take the radius given, the tightest that can be had.",
    ),
    "bend-not-in-stock": _text(
        "No elbow or bend of this radius is in stock for this tube, it does not match the tube's OD and wall, or it can "
        "only be used whole and the angle or the straights beside it do not suit.",
        "The cut list can only cut what is there, and a step of more than a quarter of the wall is a poor butt weld.",
        "Take a radius that is in stock, or list the elbow you have under `stock` with its measured sizes.",
    ),
    "order-not-firing": _text(
        "Round the collector's ring the runners do not follow the firing order.",
        "In firing order each pulse arrives beside the one before, and the flow turns round the ring instead of jumping "
        "across it. It is a matter of a few per cent, not of running or not.",
        "Set collector.order to firing. If the runners cannot be packed that way, order: free makes this a warning.",
    ),
    "length-spread": _text(
        "The longest and the shortest runner differ by more than runners.length.equal_within of their mean.",
        "Pulses reach the turbine unevenly spaced; equal lengths are what you asked for.",
        "Lengthen the shortest or shorten the longest by the millimetres given, or ask for less.",
    ),
    "flange-straight-short": _text(
        "A runner is not straight for long enough at the head flange or at its inlet.",
        "At the flange the nut, the socket and the torch need the straight, and a port shape must become round in it. "
        "At the inlet it is the tube that is mitred and held on the mill.",
        "Make the straight longer by the millimetres given, or set limits.flange_straight or limits.inlet_straight.",
    ),
    "flange-web-thin": _text(
        "There is too little metal between two holes or openings of a flange, or to its edge, or a tube stands over a "
        "hole.",
        "Thin webs burn away while welding, warp, and leave the gasket nothing to seal on. Least metal: 5 mm, half the "
        "thickness on thin flanges (common practice).",
        "Move the hole, round the opening, or widen the outline (outline: margin).",
    ),
    "stud-too-short": _text(
        "A stud ends inside its nut.",
        "A nut holds with its whole thread, and a lock nut locks with its last turns.",
        "Fit a longer stud. Lengths are measured from the engine-side face on the head, from the flange face elsewhere.",
    ),
    "wastegate-aim": _text(
        "The wastegate branch turns the gas by more than 30° (warning) or 60° (error).",
        "Gas that must turn sharply goes past the branch: boost creeps up where the valve should hold it.",
        "Leave off the outside of a bend, straight on (aim 0), or turn the branch into the flow by the degrees given.",
    ),
    "wastegate-area": _text(
        "Something in the branch is narrower than the valve's seat, the branch is not clearly smaller than the tube it "
        "leaves, or its mouth runs off the bend.",
        "The seat must be the narrowest place or the valve cannot pass what it was bought for. A branch as wide as its "
        "tube, or a mouth across a weld, cannot be cut and welded cleanly.",
        "Open what is narrow, take a branch tube at most 0.9 of the tube it leaves, make the bend longer or shift the "
        "branch outwards.",
    ),
    "survey-doubtful": _text(
        "The survey's readings contradict each other, fit two places, or leave a named point open.",
        "Everything is laid out from that pose: a tape hooked on the wrong stud moves the whole outlet.",
        "Measure the named reading again. manifoldgen survey lists every reading beside what the others give, and "
        "what to measure next.",
    ),
    "scan-mended": _text(
        "A scan has holes, was mended as it was read, or may be in inches.",
        "An open scan has no inside: a tube that lies wholly behind its surface is not noticed. What the camera did not "
        "see is not there.",
        "Scan the place again if a hole lies where a tube runs, or put a box there. Give scale: 25.4 for inches, "
        "scale: 1 if the size is right.",
    ),
    "dxf-read": _text(
        "A drawing that the file names was read: what was taken for outline, ports and bolt holes, in which unit, seen "
        "from which side, and where it was put.",
        "A drawing says nothing of all this, so it is guessed from sizes. A gasket traced upside down fits no head.",
        "Read the sentence. Say mirror: true if the drawing was made from the other side, scale: … if the size is wrong, "
        "first: right if port 1 is on the right. Then print the flange at full size and lay it on the head.",
    ),
    "solid-not-sound": _text(
        "The solid of a part failed its own acceptance: closed, one body, the right number of openings, the right volume.",
        "A solid that is not sound gives wrong files without saying so; it is not written.",
        "Mend the other errors first: overlapping tubes and ends that miss are the usual cause.",
    ),
    "not-made": _text(
        "Some of the papers or the page (an error), or one of the printed parts (a warning), could not be made; the "
        "sentence says which and why.",
        "What is missing would otherwise be missed at the saw. Everything else of the build is there and whole.",
        "Mend the other errors first. If there are none, do what the sentence asks and build again.",
    ),
})  # fmt: skip


def explain(name: str) -> str:
    """The text of one finding; raises ManifoldgenError for a name that does not exist."""
    if name not in EXPLANATIONS:
        raise ManifoldgenError(f"there is no finding {name}; there are {', '.join(sorted(EXPLANATIONS))}")
    return EXPLANATIONS[name]
