// What one chose: a finding, gap, nut, weld, runner, piece or surveyed place; flown to, marked, with its tool or torch.
import { element, say, scene, THREE, v3 } from './page.mjs';
import { lookingFrom, paint, shiftOf, view } from './stage.mjs';
import { clearWay, fly, waysAll, waysAround, waysOver } from './look.mjs';
import { mark, refreshMarks, weldPlace } from './marks.mjs';
import { arrow, ball, bar, fan, paintOf, paintOver, tool } from './aids.mjs';

export function clearChoice() {
  for (const old of view.aids.children) old.traverse((o) => o.geometry && o.geometry.dispose());
  view.aids.clear();
  view.marks = [];
  view.choice = null;
  element('from-nut').disabled = true;
  for (const b of document.querySelectorAll('.go[aria-current]')) b.removeAttribute('aria-current');
}

function pair(points, said, tint = 'bad') {
  const [a, b] = points.map(v3);
  const apart = a.distanceTo(b), thick = Math.min(Math.max(apart / 12, 0.25), 1);
  const paint = paintOf(tint);
  for (const p of [a, b]) ball(p, 2 * thick, paint);
  bar(a, b, thick, paint);
  const middle = a.clone().add(b).multiplyScalar(0.5);
  if (said) mark(said, middle, `${tint} big`);
  const ways = apart > 1e-3 ? waysAround(b.clone().sub(a)) : waysAll();
  fly(middle, clearWay([a, b, middle], ways), Math.max(8 * apart, 90));
}

function showFinding(f) {
  const points = f.points.map(v3);
  if (f.move) {
    const [a, b] = f.move.map(v3);
    if (a.distanceTo(b) > 0.05) { arrow(a, b, Math.min(Math.max(a.distanceTo(b) / 14, 0.3), 2), paintOver('mark')); mark(f.move_said, b, 'big move'); }
  }
  if (f.pair) { pair(f.points, f.said); return; }
  const id = f.parts[0];
  if (scene.reach[id]) { showNut(id); return; }
  if (f.parts.length === 1 && scene.beads[id]) { showWeld(id); return; }
  if (!points.length) { showNamed(f.parts); return; }
  const box = new THREE.Box3().setFromPoints(points);
  points.forEach((p, k) => { ball(p, 3, paintOf('bad')); mark(points.length === f.parts.length ? f.parts[k] : f.said || f.name, p, 'bad big'); });
  fly(box.getCenter(new THREE.Vector3()), clearWay(points, waysAll()), Math.max(2.2 * box.getSize(new THREE.Vector3()).length(), 120));
}

function showNamed(names) {
  const pieces = view.pieces.filter((p) => names.includes(p.part) || names.includes(p.piece));
  if (pieces.length) showPieces(pieces, names.join(', '));
}

function showRunner(number) {
  const pieces = view.pieces.filter((p) => p.role === 'runner' && p.number === number);
  if (pieces.length) showPieces(pieces, pieces[0].part);
}

function showPieces(pieces, name) {
  view.choice = { ...view.choice, pieces: new Set(pieces) };
  const box = new THREE.Box3();
  for (const p of pieces) box.union(p.mesh.geometry.boundingBox.clone().translate(p.group.position));
  const middle = box.getCenter(new THREE.Vector3());
  if (pieces.length === 1) mark(name, pieces[0].home.clone().add(pieces[0].group.position)); else mark(name, middle);
  fly(middle, clearWay([middle], [lookingFrom(), ...waysAll()]), Math.max(1.6 * box.getSize(new THREE.Vector3()).length(), 60));
}

function showNut(id) {
  const stud = scene.studs[id], reach = scene.reach[id];
  if (!stud) return;
  view.choice = { nut: id };
  element('from-nut').disabled = false;
  const at = v3(stud.at);
  let box = new THREE.Box3().setFromPoints([at]);
  if (reach && reach.shapes.length) {
    box = tool(reach.shapes, paintOf(reach.reachable ? 'good' : 'bad', 0.62)).expandByPoint(at);
    fan(reach.shapes, reach.toward, reach.swing_deg);
  }
  mark(id, at, 'big');
  const middle = box.getCenter(new THREE.Vector3());
  fly(middle, clearWay([at, middle], waysOver(v3(reach ? reach.toward : stud.axis))), Math.max(1.4 * box.getSize(new THREE.Vector3()).length(), 140));
}

export function lookFromNut() {
  const id = view.choice && view.choice.nut;
  if (!id) return;
  const stud = scene.studs[id], reach = scene.reach[id];
  fly(v3(stud.at), v3(reach ? reach.toward : stud.axis), 160);
  say(`looking down on ${id}, from where the tool comes`);
}

// the weld's line: round where it is reached, in short beads where not
function bead(id) {
  const line = scene.beads[id], weld = scene.welds[id];
  if (!line) return null;
  const points = line.points.map(v3);
  const joint = scene.joints.find((j) => j.id === id);
  for (const p of points) p.add(shiftOf(joint.between[0]));
  const n = points.length, ring = weld && weld.unit === 'deg';
  const blocked = (k) => ((weld && weld.blocked_at) || []).some(([a, b]) => {
    const at = ring ? (360 * k) / n : (line.length * (k + 0.5)) / n;
    return (at >= a && at <= b) || (ring && at + 360 >= a && at + 360 <= b);
  });
  const fine = paintOf('mark'), bad = paintOf('bad');
  for (let k = 0; k < n; k += 1) {
    if (blocked(k)) ball(points[k], 2.2, bad);
    else if (k + 1 < n || line.closed) bar(points[k], points[(k + 1) % n], 1.1, fine);
  }
  return new THREE.Box3().setFromPoints(points);
}

function showWeld(id) {
  const joint = scene.joints.find((j) => j.id === id), weld = scene.welds[id];
  if (!joint) return;
  view.choice = { weld: id };
  const box = bead(id) || new THREE.Box3().setFromPoints([v3(joint.at)]);
  let from = [weldPlace(joint)];
  if (weld && weld.shapes && weld.shapes.length && !view.apart) {
    box.union(tool(weld.shapes, paintOf('warn', 0.6)));
    from = [v3(Object.values(weld.shapes[0])[0].from)];
  }
  mark(id, weldPlace(joint), 'big');
  fly(box.getCenter(new THREE.Vector3()), clearWay(from, waysAll()), Math.max(1.6 * box.getSize(new THREE.Vector3()).length(), 110));
}

// a surveyed place: the ball that it is in
function showPlace(place) {
  if (!place) return;
  const at = v3(place.at), within = Math.max(place.within, 1);
  ball(at, within, paintOf('warn', 0.45));
  mark(place.said, at, 'big');
  fly(at, clearWay([at], waysAll()), Math.max(12 * within, 120));
}

export function choose(go) {
  const [kind, id] = [go.slice(0, go.indexOf(':')), go.slice(go.indexOf(':') + 1)];
  clearChoice();
  if (view.renderer) {
    if (kind === 'finding') showFinding(scene.findings[Number(id)]);
    if (kind === 'gap') { const g = scene.gaps[Number(id)]; pair(g.points, g.said, g.short ? 'bad' : 'mark'); }
    if (kind === 'stud') showNut(id);
    if (kind === 'weld') showWeld(id);
    if (kind === 'runner') showRunner(Number(id));
    if (kind === 'piece') showNamed([id]);
    if (kind === 'place') showPlace(scene.places[id]);
    paint();
    refreshMarks();
  }
  for (const b of document.querySelectorAll('.go')) if (b.dataset.go === go) b.setAttribute('aria-current', 'true');
}
