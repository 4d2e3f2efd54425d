"""Whether the wastegate branch looks into the flow."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind, Severity
from manifoldgen.geometry.vectors import Vec, angle_between
from manifoldgen.manifold.model import Branch, Manifold
from manifoldgen.wording import compared

FAIR, POOR = 30.0, 60.0  # degrees; common practice, borne out in order by one set of flow runs
WASTEGATE_AIM = FindingKind(
    name="wastegate-aim",
    severities=("error", "warning"),
    means=f"The wastegate branch turns the exhaust by more than {FAIR:g}° (warning) or {POOR:g}° (error).",
    why="Exhaust that must turn sharply goes past the branch: boost creeps up where the valve should hold it.",
    do="Leave off the outside of a bend, straight on (aim 0), or turn the branch into the flow by the degrees given.",
)


def incoming(m: Manifold, branch: Branch) -> Vec:
    """Direction of the flow where the branch leaves: at the bend's start, or along the collector."""
    if branch.element is not None:
        parent = next((r for r in (*m.runners, m.outlet) if r.name == branch.takeoff), None)
        if parent is not None and parent.path is not None:
            segment = parent.path.segments[branch.element]
            return segment.direction
    return m.collectors[0].frame.z if m.collectors else branch.axis


def check(m: Manifold) -> tuple[Finding, ...]:
    """`wastegate-aim`: more than 30° (warning) or 60° (error) between incoming flow and branch."""
    found: list[Finding] = []
    for branch in m.branches:
        value = angle_between(incoming(m, branch), branch.axis)
        if value <= FAIR + 1e-6:
            continue
        severity: Severity = "error" if value > POOR + 1e-6 else "warning"
        limit = POOR if severity == "error" else FAIR
        told = compared(value, limit)
        message = (
            f"{branch.run.name} leaves {told.value}° off the incoming flow; up to {limit:g}° is allowed."
        )
        do = f"Turn it at least {told.apart}° into the flow (wastegate.aim), best 0° off a bend's outside."
        found.append(
            WASTEGATE_AIM.finding(
                severity=severity,
                message=message,
                do=do,
                value=value,
                limit=limit,
                unit="deg",
                parts=(branch.run.name, branch.takeoff),
                points=(branch.root,),
                where=branch.run.where,
            )
        )
    return tuple(found)


CHECK = Check(kinds=(WASTEGATE_AIM,), ask=check)
