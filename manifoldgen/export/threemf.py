"""3MF of closed meshes, mm: a zip of three small XML files with fixed dates, one named object a mesh.

Form: 3MF Core Specification 1.3 (3mf.io): object ids from 1, vertices shared between triangles,
`rels` and `model` content types declared.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.sax.saxutils import quoteattr

from manifoldgen.mesh.triangles import Mesh, welded

_SCHEMA = "http://schemas.openxmlformats.org/package/2006"
_MODEL = "http://schemas.microsoft.com/3dmanufacturing"
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_TYPES = (
    f'{_HEAD}<Types xmlns="{_SCHEMA}/content-types">\n'
    ' <Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>\n'
    ' <Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>\n'
    "</Types>\n"
)
_LINKS = (
    f'{_HEAD}<Relationships xmlns="{_SCHEMA}/relationships">\n'
    f' <Relationship Id="rel0" Target="/3D/3dmodel.model" Type="{_MODEL}/2013/01/3dmodel"/>\n'
    "</Relationships>\n"
)
_ZIP_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can hold


def write_3mf(path: Path, meshes: tuple[Mesh, ...]) -> None:
    """Write the meshes as one 3MF; names as given, coordinates to 1e-5 mm.

    Equal vertices are made one and no others: joining what only lies near pinches a closed skin, whose edges then
    belong to four triangles.
    """
    entries = {
        "[Content_Types].xml": _TYPES,
        "_rels/.rels": _LINKS,
        "3D/3dmodel.model": _model(tuple(welded(m, within=0.0) for m in meshes)),
    }
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in entries.items():
            info = zipfile.ZipInfo(name, _ZIP_EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 3  # the same byte on every system
            info.external_attr = 0o644 << 16
            archive.writestr(info, text.encode("utf-8"), compresslevel=6)


def _model(meshes: tuple[Mesh, ...]) -> str:
    objects = "".join(_object(number, mesh) for number, mesh in enumerate(meshes, 1))
    items = "".join(f'  <item objectid="{number}"/>\n' for number in range(1, len(meshes) + 1))
    return (
        f'{_HEAD}<model unit="millimeter" xml:lang="en-US" xmlns="{_MODEL}/core/2015/02">\n'
        f" <resources>\n{objects} </resources>\n <build>\n{items} </build>\n</model>\n"
    )


def _object(number: int, mesh: Mesh) -> str:
    vertices = "\n".join(
        f'<vertex x="{x:.5f}" y="{y:.5f}" z="{z:.5f}"/>' for x, y, z in mesh.vertices.tolist()
    )
    triangles = "\n".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    return (
        f'  <object id="{number}" type="model" name={quoteattr(mesh.name)}>\n<mesh>\n'
        f"<vertices>\n{vertices}\n</vertices>\n<triangles>\n{triangles}\n</triangles>\n</mesh>\n  </object>\n"
    )
