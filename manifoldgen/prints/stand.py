"""A bench stand that holds the turbo flange in its pose over the head flange, while the manifold is tacked up.

                  plate: bolted to the turbo flange's mating face, carried on sideways to the post
        ══════════╤═══
          flange  │╲                post: upright, cut by the plate's plane, in parts that are
                  ┃ ┃               screwed end to end; its foot is screwed to the bench
    ▁▁▁▁▁▁▁▁▁▁▁▁▁▁┻━┻▁▁▁            straps: from the foot to two of the head flange's stud holes

Where the post stands is `stand_place`'s question; behind a flange that stands upright.
"""

from __future__ import annotations

import math

from manifold3d import CrossSection, JoinType

from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Flange, Manifold
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.aid import UNDER, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.prints.straps import HOT, SCREW, straps
from manifoldgen.shop.stand_place import FOOT, FOOT_THICK, PLATE, SIDE, PostPlace, placed
from manifoldgen.wording import fixed

COLLAR = 7.0  # mm round a V-band flange, which has no bolts
COLLAR_HIGH = 7.0
COLLAR_SCREW = 3.4
PILOT = 4.2  # mm: a 5 mm wood screw bites in it
PLUG = 24.0  # mm: square plug between two parts of the post
PLUG_LONG = 18.0
_UP = (0.0, 0.0, 1.0)


def stand(m: Manifold) -> tuple[PrintedPart, ...]:
    """Plate, post in as many parts as the bed asks for, and strap.

    Raises
    ------
    SolidError : a turbo flange that nothing can hold, no clear place for a post, or parts that do not fit on the bed.
    """
    place = placed(m)
    return (_plate_part(m, m.turbo, place), *_post_parts(m, place), *straps(m, place.foot, place.depth))


def _plate_part(m: Manifold, flange: Flange, place: PostPlace) -> PrintedPart:
    solid = plate_solid(m, flange, place)
    threads = ", ".join(sorted({s.thread for s in m.studs if s.flange == flange.name}))
    hold = f"Bolt the turbo flange to it with {threads}, mating face to the plate"
    if not flange.holes:
        hold = "Lay the V-band flange into its collar, mating face to the plate, and hold it with three M4 screws from the side"
    told = Told(
        "stand",
        "stand plate",
        "TURBO",
        "Holds the turbo flange by its mating face, in its place over the head flange.",
        f"{hold}; four 5 mm wood screws into the top of the post.",
        HOT,
    )
    return printed(m, solid, told, flange.frame, down=UNDER if flange.holes else _UP)


def plate_solid(m: Manifold, flange: Flange, place: PostPlace) -> bodies.Body:
    """The plate in the turbo flange's axes: on its mating face, carried on to the post."""
    frame, t = flange.frame, flange.thickness
    round_ = bodies.outline(flange.rim)
    beyond = 4.0 if flange.holes else m.workshop.fit + COLLAR
    outline = round_.offset(beyond, JoinType.Round, circular_segments=48)
    corners = place.contact
    post = CrossSection.hull_points([tuple(p) for p in frame.into(corners)[:, :2].tolist()]).offset(4.0)
    flat = CrossSection.batch_hull([outline, post])
    for opening in flange.openings:
        flat -= bodies.outline(opening.contour).translate(opening.at)
    body = bodies.plate(flat, t, t + PLATE)
    if not flange.holes:
        inside = round_.offset(m.workshop.fit, JoinType.Round, circular_segments=48)
        collar = bodies.plate(outline - inside, t - COLLAR_HIGH, t + 0.5)
        body = bodies.minus(bodies.union([body, collar]), *_set_screws(flange, t - COLLAR_HIGH / 2))
    extra = m.workshop.hole_extra
    cutters = [
        bodies.cylinder((*h.at, t - 1.0), _UP, (h.diameter + extra) / 2, PLATE + 2.0) for h in flange.holes
    ]
    for p in place.screws:
        x, y, _ = frame.into(p)
        cutters.append(bodies.cylinder((x, y, t - 1.0), _UP, SCREW / 2, PLATE + 2.0))
    middle = frame.into(corners.mean(axis=0))
    mark = Frame((float(middle[0]), float(middle[1]), t + PLATE), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
    return bodies.minus(body, *cutters, marks.flat("TURBO", mark, 5.0))


def _set_screws(flange: Flange, z: float) -> list[bodies.Body]:
    """Three holes through the collar round a V-band flange; an M4 cuts its own thread in them."""
    far = flange.vband.od if flange.vband else 0.0
    turns = [math.radians(a) for a in (90.0, 210.0, 330.0)]
    return [
        bodies.cylinder((0.0, 0.0, z), (math.cos(a), math.sin(a), 0.0), COLLAR_SCREW / 2, far) for a in turns
    ]


def post_solid(place: PostPlace) -> bodies.Body:
    """The whole post in the bench frame: foot on the bench, cut by the plate's plane."""
    hx, hy, more = place.depth / 2, SIDE / 2, (FOOT - SIDE) / 2
    post = bodies.box((-hx, -hy, place.trim), (hx, hy, place.top), place.foot)
    post = bodies.upto(post, place.at, place.normal)
    if place.trim > 0:
        post = bodies.union([post, bodies.box((-hx, -hy, 0.0), (hx, hy, place.trim + 0.02), place.foot)])
    plate = bodies.box((-hx - more, -hy - more, 0.0), (hx + more, hy + more, FOOT_THICK), place.foot)
    shoulder = (
        bodies.box((-hx - 8, -hy - 8, 0.0), (hx + 8, hy + 8, FOOT_THICK), place.foot)
        + bodies.box((-hx, -hy, 0.0), (hx, hy, FOOT_THICK + 18.0), place.foot)
    ).hull()
    cutters = []
    for sx in (-1, 1):
        for sy in (-1, 1):
            at = place.foot.out((sx * (hx + more - 7.0), sy * (hy + more - 7.0), -1.0))
            cutters.append(bodies.cylinder(at, _UP, SCREW / 2, FOOT_THICK + 2.0))
    for p in place.screws:
        cutters.append(bodies.cylinder(p + place.normal, -place.normal, PILOT / 2, 30.0))
    return bodies.minus(bodies.union([post, plate, shoulder]), *cutters)


def _post_parts(m: Manifold, place: PostPlace) -> list[PrintedPart]:
    whole = post_solid(place)
    high = float(whole.bounding_box()[5])
    room = m.workshop.room[2] - PLUG_LONG
    count = max(1, math.ceil(high / room))
    made = []
    cuts = [high * k / count for k in range(1, count)]
    fit = m.workshop.fit
    for number in range(count):
        low = cuts[number - 1] if number else None
        top = cuts[number] if number < count - 1 else None
        solid = whole
        if top is not None:
            solid = bodies.upto(solid, (0.0, 0.0, top), _UP)
            solid = bodies.union([solid, _plug(place, top, 0.0)])
        if low is not None:
            solid = bodies.upto(solid, (0.0, 0.0, low), (0.0, 0.0, -1.0))
            solid = bodies.minus(solid, _plug(place, low, fit))
        for z in (low, top):
            if z is not None:
                solid = bodies.minus(solid, _pins(place, z))
        mark = f"POST {number + 1}"
        height = 8.0 if number == 0 else 0.0
        z = (low or 0.0) + 22.0 + height
        side = Frame(vec(place.foot.out((0.0, -SIDE / 2, z))), place.foot.x, _UP, vec(-array(place.foot.y)))
        solid = bodies.minus(solid, marks.flat(mark, side, 5.0, 0.4))
        ends = (
            " Its plug goes into the next part, a 5 mm wood screw through each side."
            if top is not None
            else ""
        )
        told = Told(
            "stand",
            f"stand post {number + 1}" if count > 1 else "stand post",
            mark,
            f"The post under the stand's plate, part {number + 1} of {count}: middle at x {fixed(place.foot.at[0])} mm, y {fixed(place.foot.at[1])} mm on the bench.",
            f"Upright under the plate, held to it by its four screws.{ends}"
            + (" Four screws through the foot into the bench." if number == 0 else ""),
            HOT,
        )
        made.append(printed(m, solid, told, BENCH, down=UNDER))
    return made


def _plug(place: PostPlace, z: float, fit: float) -> bodies.Body:
    half, back = PLUG / 2 + fit, (place.depth - SIDE) / 2  # in the part that the plate's plane leaves whole
    long = PLUG_LONG + (0.5 if fit else 0.0)
    square = bodies.box((back - half, -half, z - 0.01), (back + half, half, z + long - half / 2), place.foot)
    tip = bodies.box(
        (back - half / 2, -half / 2, z - 0.01), (back + half / 2, half / 2, z + long), place.foot
    )
    return (square + tip).hull()  # the roof of the hole leans, so that it prints without support


def _pins(place: PostPlace, z: float) -> bodies.Body:
    """Screws across the plug."""
    start = place.foot.out(((place.depth - SIDE) / 2, -SIDE, z + PLUG_LONG / 3))
    return bodies.cylinder(start, place.foot.y, PILOT / 2, 2 * SIDE)
