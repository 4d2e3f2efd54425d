"""The form to take to the car: what is measured, how good it makes the pose, and what helps most next."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.place import place
from manifoldgen.manifold.survey.adjust import adjust
from manifoldgen.manifold.survey.answer import result
from manifoldgen.manifold.survey.net import make_net
from manifoldgen.manifold.survey.plan import following
from manifoldgen.manifold.survey.result import Next, SurveyResult
from manifoldgen.parameters.job import Parameters

WHOLE = 27  # readings of a whole survey: 24 distances and an angle to each axis
FEW = 6  # more that are named when there are as many already


@dataclass(frozen=True)
class Form:
    """A survey as far as it is taken.

    basis : what the order of the next readings rests on: the pose that the readings give, the one typed in
        the job, or a nominal one in front of the flange.
    at, facing : that pose.
    """

    found: SurveyResult
    basis: Literal["readings", "typed", "nominal"]
    at: Vec
    facing: Vec
    next: tuple[Next, ...]

    def as_dict(self) -> dict[str, Any]:
        """The key `survey` as `manifoldgen survey --format json` prints it."""
        rest = {"basis": self.basis, "basis_at": self.at, "basis_facing": self.facing}
        return {**self.found.as_dict(), **rest, "next": [asdict(n) for n in self.next]}


def form(job: Parameters, count: int | None = None) -> Form:
    """The form of a job, whether its pose is typed, surveyed or neither yet.

    count : how many readings to name next; as many as make a whole survey if None.

    Raises GeometryError where there is nothing to measure to, or for a point that is not there.
    """
    has_holes = job.turbo.flange.bolts is not None
    net = make_net(job, turbo_open=has_holes)
    if not has_holes and not net.free:
        raise GeometryError(
            f"{place(job, 'turbo', 'flange')}turbo.flange: a vband has no bolt holes to measure to, and the survey "
            "names no points of its own: there is nothing to measure"
        )
    made = adjust(net)
    found = result(made)
    typed = not isinstance(job.turbo.inlet.at, str)
    face = made.state.frame()
    return Form(
        found,
        "readings" if found.turbo else "typed" if typed else "nominal",
        face.at,
        face.z,
        following(made, max(FEW, WHOLE - len(net.readings)) if count is None else count),
    )
