// Sawn through: one plane square to an axis; what it lays open is hatched.
import { element, scene, THREE } from './page.mjs';
import { lookingFrom, redraw, view } from './stage.mjs';

const cut = { axis: '', share: 0.5, sign: -1 };

function saw() {
  const on = cut.axis !== '';
  const which = 'xyz'.indexOf(cut.axis);
  element('cut-at').disabled = element('cut-flip').disabled = !on;
  const planes = [];
  element('cut-said').textContent = '';
  if (on) {
    const low = scene.low[which], high = scene.high[which];
    cut.at = low + cut.share * (high - low);
    const normal = new THREE.Vector3().setComponent(which, cut.sign);
    planes.push(new THREE.Plane(normal, -cut.sign * cut.at));
    element('cut-said').textContent = `${cut.axis} ${cut.at.toFixed(1)} mm`;
  }
  view.planes = planes;
  for (const piece of view.pieces) {
    for (const part of [piece.mesh, piece.edge, piece.inside]) if (part) part.material.clippingPlanes = planes;
    if (piece.inside) piece.inside.visible = on;
  }
  redraw();
}

export const sawnOff = (point) => view.planes.some((plane) => plane.distanceToPoint(point) < 0);

export function readySaw() {
  element('cut-axis').addEventListener('change', (e) => {
    cut.axis = e.target.value;
    const near = cut.axis === '' ? 0 : lookingFrom().getComponent('xyz'.indexOf(cut.axis));
    cut.sign = near > 0 ? -1 : 1; // the half before the rest is taken away
    saw();
  });
  element('cut-at').addEventListener('input', (e) => { cut.share = e.target.value / 1000; saw(); });
  element('cut-flip').addEventListener('click', () => { cut.sign = -cut.sign; saw(); });
}
