// Numbers beside things, on leaders, kept off each other; and the steel rule along the bottom.
import { element, scene, v3 } from './page.mjs';
import { mmAcross, project, redraw, shiftOf, view } from './stage.mjs';
import { sawnOff } from './section.mjs';

const SVG = 'http://www.w3.org/2000/svg';
const drawn = [];

function wantedMarks() {
  const made = [...view.marks];
  const named = new Set(made.map((m) => m.text));
  const welds = element('show-welds').checked, nuts = element('show-nuts').checked;
  for (const joint of scene.joints) {
    const its = view.choice && view.choice.pieces && [...view.choice.pieces].some((p) => joint.between.includes(p.piece));
    if (named.has(joint.id) || !(view.welding ? view.welding.has(joint.id) : welds || its)) continue;
    made.push({ text: joint.id, at: weldPlace(joint), kind: 'weld' });
  }
  if (nuts) for (const [id, stud] of Object.entries(scene.studs)) if (!named.has(id)) made.push({ text: id, at: v3(stud.at).addScaledVector(v3(stud.axis), 10), kind: 'nut' });
  return made;
}

// a place on the weld itself, on the outer side
export function weldPlace(joint) {
  const bead = scene.beads[joint.id];
  const shift = shiftOf(joint.between[0]);
  if (!bead) return v3(joint.at).add(shift);
  let best = bead.points[0], far = -1;
  for (const p of bead.points) { const d = v3(p).distanceTo(view.middle); if (d > far) { far = d; best = p; } }
  return v3(best).add(shift);
}

export function refreshMarks() {
  const box = element('labels'), lines = element('leaders');
  box.replaceChildren();
  lines.replaceChildren();
  drawn.length = 0;
  for (const mark of wantedMarks()) {
    const label = document.createElement('span');
    label.className = `label ${mark.kind}`;
    label.textContent = mark.text;
    const line = document.createElementNS(SVG, 'line'), dot = document.createElementNS(SVG, 'circle');
    dot.setAttribute('r', 2);
    box.append(label);
    lines.append(line, dot);
    drawn.push({ ...mark, label, line, dot, wide: 0 });
  }
  for (const mark of drawn) { mark.wide = mark.label.offsetWidth; mark.high = mark.label.offsetHeight; }
  redraw();
}

function placeMarks() {
  const { clientWidth: wide, clientHeight: high } = element('frame');
  const [cx, cy] = project(view.middle.toArray());
  for (const m of drawn) {
    [m.px, m.py] = project(m.at.toArray());
    const away = Math.hypot(m.px - cx, m.py - cy) || 1;
    const lead = m.kind === 'nut' ? 20 : m.kind.includes('big') ? 64 : 30;
    m.x = m.px + ((m.px - cx) / away) * lead;
    m.y = m.py + ((m.py - cy) / away) * lead;
  }
  for (let round = 0; round < 14; round += 1) {
    for (let i = 0; i < drawn.length; i += 1) {
      for (let j = 0; j < i; j += 1) {
        const a = drawn[i], b = drawn[j];
        const over = (a.wide + b.wide) / 2 + 3 - Math.abs(a.x - b.x), deep = (a.high + b.high) / 2 + 2 - Math.abs(a.y - b.y);
        if (over <= 0 || deep <= 0) continue;
        if (over < deep) { const s = (a.x < b.x ? -1 : 1) * over * 0.5; a.x += s; b.x -= s; } else { const s = (a.y < b.y ? -1 : 1) * deep * 0.5; a.y += s; b.y -= s; }
      }
    }
  }
  for (const m of drawn) {
    const inside = m.px > -20 && m.py > -20 && m.px < wide + 20 && m.py < high + 20 && !(m.kind === 'weld' && sawnOff(m.at));
    m.label.hidden = !inside;
    for (const part of [m.line, m.dot]) part.setAttribute('visibility', inside ? 'visible' : 'hidden');
    if (!inside) continue;
    const x = Math.min(Math.max(m.x, m.wide / 2 + 2), wide - m.wide / 2 - 2), y = Math.min(Math.max(m.y, m.high / 2 + 2), high - m.high / 2 - 32);
    m.label.style.transform = `translate(${(x - m.wide / 2).toFixed(1)}px, ${(y - m.high / 2).toFixed(1)}px)`;
    for (const [name, value] of [['x1', m.px], ['y1', m.py], ['x2', x], ['y2', y]]) m.line.setAttribute(name, value.toFixed(1));
    m.dot.setAttribute('cx', m.px.toFixed(1));
    m.dot.setAttribute('cy', m.py.toFixed(1));
  }
}

function drawRule() {
  const rule = element('rule'), wide = element('frame').clientWidth;
  const scale = wide / mmAcross(); // pixels a mm
  let step = 0.1;
  for (const grow of [5, 2, 5, 2, 5, 2, 5, 2]) { if (step * scale >= 5) break; step *= grow; }
  const key = `${wide}|${scale.toFixed(4)}`;
  if (rule.dataset.key === key) return;
  rule.dataset.key = key;
  rule.replaceChildren();
  const tens = Math.max(10, 10 * Math.ceil(38 / (10 * step * scale)));
  for (let k = 0; k * step * scale < wide; k += 1) {
    const x = k * step * scale, long = k % 10 === 0 ? 14 : k % 5 === 0 ? 10 : 6;
    const tick = document.createElementNS(SVG, 'line');
    for (const [name, value] of [['x1', x], ['x2', x], ['y1', 0], ['y2', long]]) tick.setAttribute(name, value.toFixed(1));
    rule.append(tick);
    if (k % tens === 0) {
      const text = document.createElementNS(SVG, 'text');
      text.setAttribute('x', (x + 3).toFixed(1));
      text.setAttribute('y', '24');
      text.textContent = `${Number((k * step).toFixed(1))}${k === 0 ? ' mm' : ''}`;
      rule.append(text);
    }
  }
}

export function mark(text, at, kind = 'big') { view.marks.push({ text, at, kind }); }

export function readyMarks() { view.after.push(placeMarks, drawRule); }
