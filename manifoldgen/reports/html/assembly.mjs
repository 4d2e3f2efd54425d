// Put together stage by stage: what is not welded yet stands apart, away from the middle.
import { element, say, scene, THREE } from './page.mjs';
import { lookingFrom, redraw, showParts, view } from './stage.mjs';
import { fly, heightFor } from './look.mjs';
import { refreshMarks } from './marks.mjs';
import { clearChoice } from './chosen.mjs';

const APART = 0.55;

function joinedAt(stage) {
  const of = new Map(view.pieces.filter((p) => p.kind === 'part').map((p) => [p.piece, p.piece]));
  const root = (id) => { let r = id; while (of.get(r) !== r) r = of.get(r); return r; };
  for (const joint of scene.joints) {
    const weld = scene.welds[joint.id];
    const [a, b] = joint.between;
    if (weld && weld.stage <= stage && of.has(a) && of.has(b)) of.set(root(a), root(b));
  }
  return root;
}

// where every piece stands at a whole stage
function standing(stage) {
  const parts = view.pieces.filter((p) => p.kind === 'part');
  const away = new Map();
  if (stage >= scene.stages.length) { for (const p of parts) away.set(p, new THREE.Vector3()); return away; }
  const root = joinedAt(stage === 0 ? 0 : scene.stages[stage - 1].stage);
  const held = new Map();
  for (const p of parts) { const r = root(p.piece); held.set(r, [...(held.get(r) || []), p]); }
  for (const group of held.values()) {
    const box = new THREE.Box3();
    for (const p of group) box.union(p.mesh.geometry.boundingBox);
    const shift = box.getCenter(new THREE.Vector3()).sub(view.middle).multiplyScalar(APART);
    for (const p of group) away.set(p, shift);
  }
  return away;
}

function assemble(value) {
  const last = scene.stages.length;
  const whole = Math.floor(value), share = value - whole;
  const [now, then] = [standing(whole), standing(Math.min(whole + 1, last))];
  for (const p of view.pieces) {
    if (p.kind === 'part') p.group.position.copy(now.get(p)).lerp(then.get(p), share);
    if (p.kind === 'nut') p.group.userData.early = value < last;
  }
  showParts();
  const next = scene.stages[Math.min(Math.ceil(value), last) - 1];
  const apart = value < last;
  if (apart !== Boolean(view.apart)) fly(view.middle.clone(), lookingFrom(), heightFor(lookingFrom()) * (apart ? 1 + APART : 1), false, true);
  view.apart = apart;
  element('stage-said').textContent = value === 0 ? 'all apart' : value === last ? 'welded' : `to stage ${next.stage}`;
  view.welding = value > 0 && value < last && next ? new Set(next.joints) : null;
  if (value === 0) say('All apart: the pieces as they are cut.');
  else if (next) say(`Stage ${next.stage}. ${next.held.join('. ')}`);
  refreshMarks();
  redraw();
}

export function readyAssembly() {
  const slider = element('stage');
  if (slider) slider.addEventListener('input', () => { clearChoice(); assemble(Number(slider.value)); });
}
