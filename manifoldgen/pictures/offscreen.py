"""The drawing process: `python -m manifoldgen.pictures.offscreen SCENE.npz PICTURE.png`."""

from __future__ import annotations

import json
import sys

import numpy as np
from numpy.typing import NDArray
from vtkmodules import vtkInteractionStyle, vtkRenderingFreeType, vtkRenderingOpenGL2  # noqa: F401  back ends
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkPolyDataNormals
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingAnnotation import vtkAxesActor
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

Points = NDArray[np.float64]
Triangles = NDArray[np.int64]

OVERSAMPLING = 2  # software rendering has no smooth edges of its own worth the name
FEATURE_DEG = 25.0  # an edge sharper than this gets a line; facets of a tube stay below it
_EDGE = (0.25, 0.27, 0.30)
_WHITE = (1.0, 1.0, 1.0)
# view → (where the eye stands from the middle, which way is up in the picture)
_EYES = {
    "iso": ((0.62, -0.92, 0.66), (0.0, 0.0, 1.0)),
    "x": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "y": ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    "z": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
}
_BORDER = 1.08  # room left round the body
_MARK = 0.14  # the axes mark takes this part of the picture's width
_LIGHTS = (((0.3, 0.5, 1.0), 0.85), ((-0.9, 0.4, 0.6), 0.45), ((0.6, -0.8, 0.4), 0.35))  # in the eye's frame


def main(scene: str, picture: str) -> None:
    """Draw the scene file into a PNG."""
    with np.load(scene) as arrays:
        wanted = json.loads(str(arrays["wanted"]))
        parts = [
            (arrays[f"vertices_{k}"], arrays[f"triangles_{k}"], colour)
            for k, colour in enumerate(wanted["colours"])
        ]
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetSize(*(OVERSAMPLING * n for n in wanted["size"]))
    window.SetNumberOfLayers(2)
    body = _body(parts)
    _aim(body, np.concatenate([vertices for vertices, _, _ in parts]), wanted["view"], wanted["size"])
    window.AddRenderer(body)
    window.AddRenderer(_axes_mark(body, wanted["size"]))
    window.Render()
    _save(window, picture)


def _save(window: vtkRenderWindow, picture: str) -> None:
    """Average the oversampled window down to the asked size and write it."""
    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    grab.ReadFrontBufferOff()
    grab.Update()
    image = grab.GetOutput()
    width, height, _ = image.GetDimensions()
    n = OVERSAMPLING
    pixels = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height // n, n, width // n, n, 3)
    smooth = np.rint(pixels.mean(axis=(1, 3))).astype(np.uint8)
    small = vtkImageData()
    small.SetDimensions(width // n, height // n, 1)
    small.GetPointData().SetScalars(numpy_to_vtk(smooth.reshape(-1, 3), deep=True))
    writer = vtkPNGWriter()
    writer.SetFileName(picture)
    writer.SetInputData(small)
    writer.Write()


def _body(parts: list[tuple[Points, Triangles, list[float]]]) -> vtkRenderer:
    renderer = vtkRenderer()
    renderer.SetBackground(*_WHITE)
    for vertices, triangles, colour in parts:
        data = _poly_data(vertices, triangles)
        renderer.AddActor(_skin(data, colour))
        renderer.AddActor(_edges(data))
    for place, strength in _LIGHTS:
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(*place)
        light.SetIntensity(strength)
        renderer.AddLight(light)
    return renderer


def _poly_data(vertices: Points, triangles: Triangles) -> vtkPolyData:
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(vertices), deep=True))
    cells = vtkCellArray()
    rows = np.column_stack([np.full(len(triangles), 3), triangles]).astype(np.int64)
    cells.SetCells(len(triangles), numpy_to_vtkIdTypeArray(rows.ravel(), deep=True))
    data = vtkPolyData()
    data.SetPoints(points)
    data.SetPolys(cells)
    return data


def _skin(data: vtkPolyData, colour: list[float]) -> vtkActor:
    normals = vtkPolyDataNormals()
    normals.SetInputData(data)
    normals.SetFeatureAngle(FEATURE_DEG)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    actor = vtkActor()
    actor.SetMapper(mapper)
    skin = actor.GetProperty()
    skin.SetColor(*colour)
    skin.SetAmbient(0.18)
    skin.SetDiffuse(0.85)
    skin.SetSpecular(0.25)
    skin.SetSpecularPower(30)
    return actor


def _edges(data: vtkPolyData) -> vtkActor:
    edges = vtkFeatureEdges()
    edges.SetInputData(data)
    edges.SetFeatureAngle(FEATURE_DEG)
    edges.ColoringOff()
    edges.ManifoldEdgesOff()
    edges.NonManifoldEdgesOff()
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(edges.GetOutputPort())
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0, -2)
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor = vtkActor()
    actor.SetMapper(mapper)
    line = actor.GetProperty()
    line.SetColor(*_EDGE)
    line.SetLineWidth(1.2 * OVERSAMPLING)
    line.LightingOff()
    line.SetOpacity(0.8)
    return actor


def _aim(renderer: vtkRenderer, points: Points, view: str, size: list[int]) -> None:
    """Point the camera so that all points just fit into the picture, seen in parallel."""
    eye, up = (np.array(v) / np.linalg.norm(v) for v in _EYES[view])
    right = np.cross(up, eye)
    right /= np.linalg.norm(right)
    axes = np.column_stack([right, np.cross(eye, right), eye])
    low, high = (points @ axes).min(axis=0), (points @ axes).max(axis=0)
    middle = axes @ ((low + high) / 2)
    half = (high - low) / 2
    camera = renderer.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetFocalPoint(*middle)
    camera.SetPosition(*(middle + eye * (2 * half.max() + 1.0)))
    camera.SetViewUp(*up)
    camera.SetParallelScale(max(half[1], half[0] * size[1] / size[0]) * _BORDER)
    renderer.ResetCameraClippingRange()


def _axes_mark(body: vtkRenderer, size: list[int]) -> vtkRenderer:
    """Draw the bench axes, small, in the lower left corner, turned as the body is."""
    renderer = vtkRenderer()
    renderer.SetLayer(1)
    renderer.SetViewport(0.0, 0.0, _MARK, _MARK * size[0] / size[1])
    axes = vtkAxesActor()
    for label in ("X", "Y", "Z"):
        getattr(axes, f"Set{label}AxisLabelText")(label.lower())
        caption = getattr(axes, f"Get{label}AxisCaptionActor2D")()
        text = caption.GetCaptionTextProperty()
        text.SetColor(*_EDGE)
        text.BoldOff()
        text.ItalicOff()
        text.ShadowOff()
    renderer.AddActor(axes)
    camera, seen = renderer.GetActiveCamera(), body.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetPosition(*(-c for c in seen.GetDirectionOfProjection()))
    camera.SetViewUp(*seen.GetViewUp())
    renderer.ResetCamera()
    camera.Zoom(1.1)
    return renderer


if __name__ == "__main__":
    main(*sys.argv[1:3])
