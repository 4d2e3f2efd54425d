// The page round the view: lists, filter, parts, keys, colours, print.
import { element, say } from './page.mjs';
import { drawNow, fitFrame, paint, showParts, view } from './stage.mjs';
import { look, moveBy, turnBy, zoomBy } from './look.mjs';
import { refreshMarks } from './marks.mjs';
import { choose, clearChoice, lookFromNut } from './chosen.mjs';
import { measuring, pickedEnd, placeOf, tape } from './measure.mjs';

export function readyPanel() {
  document.addEventListener('click', (e) => {
    const go = e.target.closest('.go');
    if (go) {
      const place = tape.on && view.renderer ? placeOf(go.dataset.go) : null;
      if (place) pickedEnd(place); else { said_of(go); choose(go.dataset.go); }
    }
    const all = e.target.closest('[data-all]');
    if (all) { for (const b of document.querySelectorAll('[data-part]')) b.checked = Boolean(all.dataset.all); showParts(); }
    const looks = e.target.closest('[data-look]');
    if (looks && view.renderer) { if (looks.dataset.look === 'nut') lookFromNut(); else look(looks.dataset.look); }
  });
  document.addEventListener('keydown', (e) => {
    const go = e.target.closest && e.target.closest('.go');
    if (!go || !['ArrowDown', 'ArrowUp', 'Home', 'End'].includes(e.key)) return;
    const list = [...go.closest('table, ol, .bars, .dials').querySelectorAll('.go')].filter((b) => b.offsetParent);
    const at = list.indexOf(go);
    const next = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: list.length - 1 }[e.key];
    if (list[next]) { list[next].focus(); e.preventDefault(); }
  });
  for (const box of document.querySelectorAll('[data-part]')) box.addEventListener('change', showParts);
  const filter = element('filter');
  if (filter) filter.addEventListener('change', () => {
    let shown = 0;
    for (const tag of document.querySelectorAll('.tag')) {
      tag.hidden = Boolean(filter.value) && !JSON.parse(tag.dataset.parts).includes(filter.value);
      shown += tag.hidden ? 0 : 1;
    }
    element('filtered').hidden = shown > 0;
  });
  element('theme').addEventListener('click', () => { setTheme(document.documentElement.dataset.theme === 'dark' ? 'light' : 'dark'); });
  const dark = matchMedia('(prefers-color-scheme: dark)');
  dark.addEventListener('change', () => setTheme(dark.matches ? 'dark' : 'light'));
  setTheme(dark.matches ? 'dark' : 'light');
  addEventListener('beforeprint', () => printing(true));
  addEventListener('afterprint', () => printing(false));
}

// on paper the view has a size of its own, and white behind it
const PAPER = { width: '680px', height: '440px' };

function printing(on) {
  view.printing = on;
  if (!view.renderer) return;
  Object.assign(element('frame').style, on ? PAPER : { width: '', height: '' });
  fitFrame();
  paint();
  drawNow();
  const paper = element('paper'), canvas = element('canvas'); // paper takes a plain copy, not the live view
  Object.assign(paper, on ? { width: canvas.width, height: canvas.height } : { width: 1, height: 1 });
  if (on) paper.getContext('2d').drawImage(canvas, 0, 0);
}

function said_of(go) {
  const row = go.closest('tr, .tag, .bar');
  if (row && row.matches('.tag')) { say(row.querySelectorAll('p')[1].textContent); return; }
  if (row && row.matches('tr')) {
    const heads = [...row.closest('table').querySelectorAll('thead th')].map((h) => h.textContent);
    const cells = [...row.children].map((c) => c.textContent.trim());
    const line = cells.map((cell, k) => {
      if (k === 0) return cell;
      if (!cell || cell === '–') return '';
      const [, words, unit] = heads[k].match(/^(.*?)(?: (mm|°|kg))?$/);
      return [words, cell, unit].filter(Boolean).join(' ');
    });
    say(line.filter(Boolean).join('; '));
    return;
  }
  say(go.getAttribute('aria-label') || (row ? row.textContent.replace(/\s+/g, ' ').trim() : go.textContent));
}

function setTheme(name) {
  document.documentElement.dataset.theme = name;
  if (view.renderer) paint();
}

const KEYS = {
  x: () => look('x'), y: () => look('y'), z: () => look('z'), c: () => look('corner'), 0: () => look('all'), Home: () => look('all'),
  m: () => measuring(!tape.on), '+': () => zoomBy(1.2), '=': () => zoomBy(1.2), '-': () => zoomBy(1 / 1.2),
  Escape: () => { measuring(false); clearChoice(); paint(); refreshMarks(); },
};

export function readyKeys() {
  element('canvas').addEventListener('keydown', (e) => {
    const turn = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key];
    if (turn && e.shiftKey) moveBy(0.08 * turn[0], 0.08 * turn[1]);
    else if (turn) turnBy(-0.15 * turn[0], 0.15 * turn[1]);
    else if (KEYS[e.key] && !e.ctrlKey && !e.metaKey) KEYS[e.key]();
    else return;
    e.preventDefault();
  });
  element('clear').addEventListener('click', KEYS.Escape);
  for (const id of ['show-welds', 'show-nuts']) element(id).addEventListener('change', refreshMarks);
}
