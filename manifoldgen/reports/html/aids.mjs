// Things drawn for a choice: bars, balls, arrows, tools and torches, the swing of a handle.
import { colourOf, THREE, v3 } from './page.mjs';
import { view } from './stage.mjs';

export const paintOf = (name, opacity = 1) => new THREE.MeshLambertMaterial({ color: colourOf(name), transparent: opacity < 1, opacity, depthWrite: opacity >= 1, side: THREE.DoubleSide });

// an arrow points into metal: it is drawn over everything
export const paintOver = (name) => { const made = paintOf(name, 0.92); made.depthTest = false; return made; };

// what of a tool or a mark is hidden behind metal shines through faintly
function show(made) {
  const ghost = new THREE.Mesh(made.geometry, made.material.clone());
  Object.assign(ghost.material, { depthTest: false, depthWrite: false, transparent: true, opacity: 0.16 });
  ghost.position.copy(made.position);
  ghost.quaternion.copy(made.quaternion);
  ghost.renderOrder = 5;
  if (!made.material.depthTest) made.renderOrder = 6;
  view.aids.add(made, ghost);
}

export function bar(a, b, radius, material, to_radius = radius) {
  const way = b.clone().sub(a);
  const made = new THREE.Mesh(new THREE.CylinderGeometry(to_radius, radius, Math.max(way.length(), 1e-3), 20), material);
  made.position.copy(a).addScaledVector(way, 0.5);
  if (way.length() > 1e-6) made.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), way.normalize());
  show(made);
}

export function ball(at, radius, material) {
  const made = new THREE.Mesh(new THREE.SphereGeometry(radius, 20, 14), material);
  made.position.copy(at);
  show(made);
}

export function arrow(a, b, thick, material) {
  const way = b.clone().sub(a), head = Math.min(5 * thick, way.length() * 0.6);
  const neck = b.clone().addScaledVector(way.clone().normalize(), -head);
  bar(a, neck, thick, material);
  bar(neck, b, 2.4 * thick, material, 0);
}

// the bars and balls of a tool or a torch, as the report gives them
export function tool(shapes, material) {
  const box = new THREE.Box3();
  for (const shape of shapes) {
    const [kind, s] = Object.entries(shape)[0];
    if (kind === 'sphere') { ball(v3(s.at), s.radius, material); box.expandByPoint(v3(s.at)); continue; }
    const [a, b] = [v3(s.from), v3(s.to)];
    bar(a, b, kind === 'cone' ? s.radius_from : s.radius, material, kind === 'cone' ? s.radius_to : s.radius);
    if (kind === 'capsule') { ball(a, s.radius, material); ball(b, s.radius, material); }
    box.expandByPoint(a).expandByPoint(b);
  }
  return box;
}

// the free swing of the handle, as a fan about the tool's axis
export function fan(shapes, toward, degrees) {
  const axis = v3(toward).normalize();
  const arms = shapes.map((s) => Object.values(s)[0]).filter((s) => s.from).map((s) => {
    const way = v3(s.to).sub(v3(s.from));
    const across = way.clone().addScaledVector(axis, -way.dot(axis));
    return { from: v3(s.from), across, reach: across.length() };
  }).filter((s) => s.reach > 1);
  if (!arms.length || !(degrees > 0)) return;
  const origin = arms[0].from, way = arms[0].across.clone().normalize();
  const reach = Math.max(...arms.map((s) => s.from.clone().sub(origin).add(s.across).length()));
  const half = (Math.min(degrees, 360) * Math.PI) / 360, points = [];
  const steps = Math.max(6, Math.ceil(degrees / 5));
  const at = (k) => origin.clone().addScaledVector(way.clone().applyAxisAngle(axis, -half + (2 * half * k) / steps), reach);
  for (let k = 0; k < steps; k += 1) for (const p of [origin, at(k), at(k + 1)]) points.push(p.x, p.y, p.z);
  const flat = new THREE.BufferGeometry();
  flat.setAttribute('position', new THREE.Float32BufferAttribute(points, 3));
  flat.computeVertexNormals();
  view.aids.add(new THREE.Mesh(flat, new THREE.MeshBasicMaterial({ color: colourOf('warn'), transparent: true, opacity: 0.22, side: THREE.DoubleSide, depthWrite: false })));
  const rim = new THREE.BufferGeometry().setFromPoints([origin, ...Array.from({ length: steps + 1 }, (_, k) => at(k)), origin]);
  view.aids.add(new THREE.Line(rim, new THREE.LineBasicMaterial({ color: colourOf('warn') })));
}
