// Start: the lists at once, the view as soon as its library has been read.
import { element, THREE } from './page.mjs';
import { drawNow, lookingFrom, mmHigh, paint, project, setStage, shiftOf, showParts, view } from './stage.mjs';
import { look } from './look.mjs';
import { readySaw } from './section.mjs';
import { readyMarks, refreshMarks } from './marks.mjs';
import { readyPicks } from './measure.mjs';
import { readyAssembly } from './assembly.mjs';
import { readyKeys, readyPanel } from './panel.mjs';

async function begin() {
  const url = URL.createObjectURL(new Blob([element('library').textContent], { type: 'text/javascript' }));
  const held = await import(url);
  URL.revokeObjectURL(url);
  Object.assign(THREE, held.THREE);
  setStage(held.OrbitControls);
  look('corner', true);
  element('show-welds').checked = element('frame').clientWidth >= 800;
  readyMarks();
  readySaw();
  readyAssembly();
  readyPicks();
  readyKeys();
  showParts();
  paint();
  refreshMarks();
  drawNow();
  element('wait').hidden = true;
  window.viewerReady = {
    parts: [...new Set(view.pieces.filter((p) => p.kind === 'part').map((p) => p.part))],
    triangles: view.pieces.reduce((sum, p) => sum + p.faces.length / 3, 0),
    revision: THREE.REVISION,
    project,
    look: () => ({ target: view.controls.target.toArray(), from: lookingFrom().toArray(), mm: mmHigh() }),
    at: (id) => shiftOf(id).toArray(),
    aids: () => view.aids.children.length,
  };
}
readyPanel();
if (element('library')) begin().catch((error) => { element('wait').textContent = `the 3-D view does not start here: ${error.message}`; window.viewerFailed = String(error.stack || error); });
