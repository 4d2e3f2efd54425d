// The stage: camera, light, pieces, and drawing when something changed.
import { colourOf, element, scene, THREE, v3 } from './page.mjs';
import { geometries, tone, unpacked } from './build.mjs';

export const view = { pieces: [], planes: [], marks: [], aids: null, choice: null, wanted: false, after: [] };

export function setStage(OrbitControls) {
  const canvas = element('canvas');
  view.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
  view.renderer.localClippingEnabled = true;
  view.world = new THREE.Scene();
  view.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, -1, 1);
  view.camera.up.set(0, 0, 1);
  view.world.add(view.camera, new THREE.HemisphereLight(0xffffff, 0x8a8578, 1.5));
  for (const [x, y, z, strength] of [[0.4, 0.7, 1, 1.7], [-1, 0.2, 0.5, 0.6]]) {
    const light = new THREE.DirectionalLight(0xffffff, strength);
    light.position.set(x, y, z);
    view.camera.add(light, light.target);
  }
  view.low = v3(scene.low);
  view.high = v3(scene.high);
  view.middle = view.low.clone().add(view.high).multiplyScalar(0.5);
  view.size = Math.max(view.low.distanceTo(view.high), 50);
  view.controls = new OrbitControls(view.camera, canvas);
  view.controls.target.copy(view.middle);
  view.controls.zoomToCursor = true;
  view.controls.addEventListener('change', redraw);
  view.aids = new THREE.Group();
  view.world.add(view.aids);
  for (const told of unpacked()) addPiece(told);
  new ResizeObserver(fitFrame).observe(element('frame'));
  fitFrame();
}

function addPiece(told) {
  const { body, lines } = geometries(told.points, told.faces);
  const solid = told.kind === 'part' || told.kind === 'nut';
  const group = new THREE.Group();
  const skin = solid
    ? new THREE.MeshPhongMaterial({ shininess: 45, specular: 0x555555 })
    : new THREE.MeshLambertMaterial({ transparent: true, opacity: 0.2, depthWrite: false, side: THREE.DoubleSide });
  const mesh = new THREE.Mesh(body, skin);
  const edge = new THREE.LineSegments(lines, new THREE.LineBasicMaterial({ transparent: !solid, opacity: solid ? 1 : 0.45 }));
  group.add(mesh, edge);
  const piece = { ...told, group, mesh, edge, inside: null, home: new THREE.Vector3(), solid };
  body.computeBoundingBox();
  body.boundingBox.getCenter(piece.home);
  if (solid) { // what the saw lays open is drawn by the far sides, seen from inside: flat, hatched
    piece.inside = new THREE.Mesh(body, hatched());
    piece.inside.visible = false;
    group.add(piece.inside);
    skin.polygonOffset = true;
    skin.polygonOffsetFactor = 1;
    skin.polygonOffsetUnits = 1;
  }
  mesh.userData.piece = piece;
  view.world.add(group);
  view.pieces.push(piece);
}

function hatched() {
  const made = new THREE.MeshBasicMaterial({ side: THREE.BackSide });
  made.onBeforeCompile = (shader) => {
    shader.fragmentShader = shader.fragmentShader.replace(
      '#include <color_fragment>',
      '#include <color_fragment>\nif (mod(gl_FragCoord.x + gl_FragCoord.y, 9.0) < 2.0) diffuseColor.rgb *= 0.45;',
    );
  };
  return made;
}

export function paint() {
  const stage = view.printing ? new THREE.Color('#fff') : colourOf('stage'), edge = colourOf('edge');
  view.renderer.setClearColor(stage);
  for (const piece of view.pieces) {
    const chosen = view.choice && view.choice.pieces && view.choice.pieces.has(piece);
    piece.mesh.material.color.copy(colourOf(chosen ? 'aid' : tone(piece)));
    piece.edge.material.color.copy(piece.solid ? edge : colourOf('other'));
    if (piece.inside) piece.inside.material.color.copy(colourOf('cut'));
  }
  redraw();
}

export function fitFrame() {
  const { clientWidth: wide, clientHeight: high } = element('frame');
  if (!wide || !high) return;
  view.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
  view.renderer.setSize(wide, high, false);
  const half = view.size / 2;
  const share = wide / high;
  const tall = share < 1 ? half / share : half;
  Object.assign(view.camera, { left: -tall * share, right: tall * share, top: tall, bottom: -tall, near: -8 * view.size, far: 12 * view.size });
  view.camera.updateProjectionMatrix();
  redraw();
}

export function redraw() {
  if (view.wanted) return;
  view.wanted = true;
  requestAnimationFrame(drawNow);
}

export function drawNow() {
  view.wanted = false;
  view.renderer.render(view.world, view.camera);
  for (const follow of view.after) follow(); // what lies over the picture
}

// pixels of a point in the frame
export function project(point) {
  const p = v3(point).project(view.camera);
  const { clientWidth: wide, clientHeight: high } = element('frame');
  return [((p.x + 1) / 2) * wide, ((1 - p.y) / 2) * high];
}

export const mmAcross = () => (view.camera.right - view.camera.left) / view.camera.zoom;
export const mmHigh = () => (view.camera.top - view.camera.bottom) / view.camera.zoom;
export const lookingFrom = () => view.camera.position.clone().sub(view.controls.target).normalize();

export function showParts() {
  if (!view.renderer) return;
  const on = new Set([...document.querySelectorAll('[data-part]')].filter((b) => b.checked).map((b) => b.dataset.part));
  for (const p of view.pieces) p.group.visible = on.has(p.part) && !p.group.userData.early;
  redraw();
}

export function shiftOf(id) {
  const piece = view.pieces.find((p) => p.piece === id);
  return piece ? piece.group.position : new THREE.Vector3();
}
