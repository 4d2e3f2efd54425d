// Where one looks from: fixed looks, flights, turning and moving, the way with least before a place.
import { element, say, THREE } from './page.mjs';
import { lookingFrom, mmHigh, redraw, view } from './stage.mjs';

const calm = () => matchMedia('(prefers-reduced-motion: reduce)').matches;
const LOOKS = { x: [1, 0, 0], y: [0, -1, 0], z: [0, 0, 1], corner: [0.62, -0.92, 0.66] };

function place(target, from, zoom) {
  const way = from.clone().normalize();
  if (Math.abs(way.z) > 0.9999) way.set(0, -1e-4, Math.sign(way.z)).normalize(); // straight down: y stays up
  view.controls.target.copy(target);
  view.camera.position.copy(target).addScaledVector(way, 2 * view.size);
  view.camera.zoom = zoom;
  view.camera.updateProjectionMatrix();
  view.controls.update();
  redraw();
}

export function fly(target, from, high, at_once = false, fitted = false) {
  const base = view.camera.top - view.camera.bottom;
  const { clientWidth: wide, clientHeight: tall } = element('frame');
  if (!fitted && wide < tall) high *= tall / wide; // of a narrow frame the width counts
  const zoom = Math.min(Math.max(base / high, 0.05), 200);
  const start = { target: view.controls.target.clone(), from: lookingFrom(), zoom: view.camera.zoom };
  const run = (view.flight = (view.flight || 0) + 1);
  if (at_once || calm()) { place(target, from, zoom); return; }
  const began = performance.now();
  const turn = new THREE.Quaternion().setFromUnitVectors(start.from, from.clone().normalize());
  const step = (now) => {
    if (run !== view.flight) return;
    const t = Math.min(Math.max((now - began) / 420, 0), 1), share = t * t * (3 - 2 * t);
    const way = start.from.clone().applyQuaternion(new THREE.Quaternion().slerp(turn, share));
    place(start.target.clone().lerp(target, share), t === 1 ? from : way, start.zoom * (zoom / start.zoom) ** share);
    if (t < 1) requestAnimationFrame(step);
  };
  requestAnimationFrame(step);
}

export function look(name, at_once = false) {
  const same = view.looked === name && 'xyz'.includes(name);
  const way = name === 'all' ? lookingFrom() : new THREE.Vector3(...LOOKS[name]).multiplyScalar(same ? -1 : 1);
  view.looked = same ? null : name;
  fly(view.middle.clone(), way, heightFor(way), at_once, true);
  if (!at_once) say(name === 'all' ? 'all of it' : name === 'corner' ? 'from the corner' : `along ${same ? '−' : ''}${name}`);
}

// how high the picture has to be, in mm, so that the whole box is in it from here, above the rule
export function heightFor(way) {
  const w = way.clone().normalize();
  const right = new THREE.Vector3(0, 0, 1).cross(w);
  if (right.length() < 1e-3) right.set(1, 0, 0);
  right.normalize();
  const up = w.clone().cross(right);
  const half = view.high.clone().sub(view.low).multiplyScalar(0.5);
  const across = (v) => 2 * (Math.abs(v.x) * half.x + Math.abs(v.y) * half.y + Math.abs(v.z) * half.z);
  const { clientWidth: wide, clientHeight: high } = element('frame');
  return 1.12 * Math.max(across(up), (across(right) * high) / wide);
}

export function turnBy(across, down) {
  const way = lookingFrom();
  way.applyAxisAngle(new THREE.Vector3(0, 0, 1), across);
  const right = new THREE.Vector3(0, 0, 1).cross(way).normalize();
  const turned = way.clone().applyAxisAngle(right, down);
  if (Math.abs(turned.z) < 0.9995) way.copy(turned);
  place(view.controls.target.clone(), way, view.camera.zoom);
}

export function moveBy(right, up) {
  const side = new THREE.Vector3().setFromMatrixColumn(view.camera.matrix, 0).multiplyScalar(right * mmHigh());
  const over = new THREE.Vector3().setFromMatrixColumn(view.camera.matrix, 1).multiplyScalar(up * mmHigh());
  place(view.controls.target.clone().add(side).add(over), lookingFrom(), view.camera.zoom);
}

export function zoomBy(factor) { place(view.controls.target.clone(), lookingFrom(), view.camera.zoom * factor); }

// of some ways to look at a place the one with least before it, rather near to how one looks now
export function clearWay(points, ways) {
  const caster = new THREE.Raycaster();
  const bodies = view.pieces.filter((p) => p.group.visible && p.solid).map((p) => p.mesh);
  const now = lookingFrom();
  let best = null;
  for (const way of ways) {
    let hidden = 0;
    for (const point of points) {
      caster.set(point.clone().addScaledVector(way, 0.05), way);
      hidden += caster.intersectObjects(bodies, false).length;
    }
    const cost = hidden - 0.4 * way.dot(now);
    if (!best || cost < best.cost) best = { way, cost };
  }
  return best.way;
}

export function waysAround(axis) {
  const a = axis.clone().normalize();
  const u = new THREE.Vector3(0, 0, 1).cross(a);
  if (u.length() < 0.1) u.set(1, 0, 0);
  u.normalize();
  return Array.from({ length: 16 }, (_, k) => u.clone().applyAxisAngle(a, (k * Math.PI) / 8));
}

export function waysAll() {
  const made = [];
  for (const z of [0.25, 0.7, -0.35]) for (let k = 0; k < 8; k += 1) made.push(new THREE.Vector3(Math.cos((k * Math.PI) / 4), Math.sin((k * Math.PI) / 4), z).normalize());
  return made;
}

// from above an axis, leaning to all sides: a fan about it is seen open
export function waysOver(axis) {
  const a = axis.clone().normalize();
  return [0.5, 1].flatMap((lift) => waysAround(a).map((w) => w.addScaledVector(a, lift).normalize()));
}
