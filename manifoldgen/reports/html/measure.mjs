// Two picks, and what lies between them.
import { element, say, scene, THREE, v3 } from './page.mjs';
import { mmHigh, paint, view } from './stage.mjs';
import { sawnOff } from './section.mjs';
import { mark, refreshMarks } from './marks.mjs';
import { ball, bar, paintOf } from './aids.mjs';
import { clearChoice } from './chosen.mjs';

export const tape = { on: false, ends: [] };

function hit(event) {
  const { left, top, width, height } = element('canvas').getBoundingClientRect();
  const at = new THREE.Vector2(((event.clientX - left) / width) * 2 - 1, 1 - ((event.clientY - top) / height) * 2);
  const caster = new THREE.Raycaster();
  caster.setFromCamera(at, view.camera);
  const shown = view.pieces.filter((p) => p.group.visible);
  const solid = caster.intersectObjects(shown.filter((p) => p.solid).map((p) => p.mesh), false).find((h) => !sawnOff(h.point));
  return solid || caster.intersectObjects(shown.map((p) => p.mesh), false).find((h) => !sawnOff(h.point)) || null;
}

export function measuring(on) {
  tape.on = on;
  tape.ends = [];
  element('measure').setAttribute('aria-pressed', String(on));
  element('frame').classList.toggle('measuring', on);
  if (on) { clearChoice(); paint(); refreshMarks(); say('Measure: pick the first place.'); } else say('');
}

export function pickedEnd(point) {
  if (tape.ends.length !== 1) { clearChoice(); tape.ends = []; }
  tape.ends.push(point.clone());
  const thick = Math.min(Math.max(mmHigh() / 400, 0.2), 3);
  for (const p of tape.ends) ball(p, 3 * thick, paintOf('mark'));
  if (tape.ends.length === 2) {
    const [a, b] = tape.ends, d = b.clone().sub(a);
    bar(a, b, thick, paintOf('mark'));
    mark(`${d.length().toFixed(1)} mm`, a.clone().add(b).multiplyScalar(0.5));
    say(`${d.length().toFixed(1)} mm; x ${d.x.toFixed(1)}, y ${d.y.toFixed(1)}, z ${d.z.toFixed(1)}`);
  } else say(`from x ${point.x.toFixed(1)}, y ${point.y.toFixed(1)}, z ${point.z.toFixed(1)}: pick the second place.`);
  refreshMarks();
}

export function readyPicks() {
  const canvas = element('canvas');
  let down = null;
  canvas.addEventListener('pointerdown', (e) => { down = [e.clientX, e.clientY, performance.now()]; view.flight = (view.flight || 0) + 1; });
  canvas.addEventListener('pointerup', (e) => {
    if (!down || Math.hypot(e.clientX - down[0], e.clientY - down[1]) > 6 || performance.now() - down[2] > 700) return;
    const found = hit(e);
    if (tape.on) { if (found) pickedEnd(found.point); return; }
    clearChoice();
    if (found) {
      const piece = found.object.userData.piece;
      view.choice = { pieces: new Set([piece]) };
      const name = piece.piece === piece.part ? piece.part : `${piece.piece}, ${piece.part}`;
      mark(name, found.point);
      say(name);
      const row = document.querySelector(`.go[data-go="piece:${CSS.escape(piece.piece)}"], .go[data-go="stud:${CSS.escape(piece.piece)}"]`);
      if (row) row.setAttribute('aria-current', 'true');
    } else say('');
    paint();
    refreshMarks();
  });
  element('measure').addEventListener('click', () => measuring(!tape.on));
}

// in measuring mode a line of a list stands for its place: the keyboard's way to measure
export function placeOf(go) {
  const [kind, id] = [go.slice(0, go.indexOf(':')), go.slice(go.indexOf(':') + 1)];
  if (kind === 'stud' && scene.studs[id]) return v3(scene.studs[id].at);
  if (kind === 'place' && scene.places[id]) return v3(scene.places[id].at);
  const joint = kind === 'weld' && scene.joints.find((j) => j.id === id);
  if (joint) return v3(joint.at);
  const piece = kind === 'piece' && view.pieces.find((p) => p.piece === id);
  return piece ? piece.home : null;
}
