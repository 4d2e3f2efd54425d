// The stage: camera, light, drawing when something changed, flights and fixed looks.
const view = { pieces: [], planes: [], marks: [], aids: null, choice: null, wanted: false };
const calm = () => matchMedia('(prefers-reduced-motion: reduce)').matches;
const LOOKS = { x: [1, 0, 0], y: [0, -1, 0], z: [0, 0, 1], corner: [0.62, -0.92, 0.66] };

function setStage(OrbitControls) {
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
  look('corner', true);
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

function paint() {
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

function fitFrame() {
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

function redraw() {
  if (view.wanted) return;
  view.wanted = true;
  requestAnimationFrame(drawNow);
}

function drawNow() {
  view.wanted = false;
  view.renderer.render(view.world, view.camera);
  placeMarks();
  drawRule();
}

// pixels of a point in the frame
function project(point) {
  const p = v3(point).project(view.camera);
  const { clientWidth: wide, clientHeight: high } = element('frame');
  return [((p.x + 1) / 2) * wide, ((1 - p.y) / 2) * high];
}

const mmAcross = () => (view.camera.right - view.camera.left) / view.camera.zoom;
const mmHigh = () => (view.camera.top - view.camera.bottom) / view.camera.zoom;
const lookingFrom = () => view.camera.position.clone().sub(view.controls.target).normalize();

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

function fly(target, from, high, at_once = false, fitted = false) {
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

function look(name, at_once = false) {
  if (name === 'nut') { lookFromNut(); return; }
  const same = view.looked === name && 'xyz'.includes(name);
  const way = name === 'all' ? lookingFrom() : new THREE.Vector3(...LOOKS[name]).multiplyScalar(same ? -1 : 1);
  view.looked = same ? null : name;
  fly(view.middle.clone(), way, heightFor(way), at_once, true);
  if (!at_once) say(name === 'all' ? 'all of it' : name === 'corner' ? 'from the corner' : `along ${same ? '−' : ''}${name}`);
}

// how high the picture has to be, in mm, so that the whole box is in it from here, above the rule
function heightFor(way) {
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

function turnBy(across, down) {
  const way = lookingFrom();
  way.applyAxisAngle(new THREE.Vector3(0, 0, 1), across);
  const right = new THREE.Vector3(0, 0, 1).cross(way).normalize();
  const turned = way.clone().applyAxisAngle(right, down);
  if (Math.abs(turned.z) < 0.9995) way.copy(turned);
  place(view.controls.target.clone(), way, view.camera.zoom);
}

function moveBy(right, up) {
  const side = new THREE.Vector3().setFromMatrixColumn(view.camera.matrix, 0).multiplyScalar(right * mmHigh());
  const over = new THREE.Vector3().setFromMatrixColumn(view.camera.matrix, 1).multiplyScalar(up * mmHigh());
  place(view.controls.target.clone().add(side).add(over), lookingFrom(), view.camera.zoom);
}

// of some ways to look at a place the one with least before it, rather near to how one looks now
function clearWay(points, ways) {
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

function waysAround(axis) {
  const a = axis.clone().normalize();
  const u = new THREE.Vector3(0, 0, 1).cross(a);
  if (u.length() < 0.1) u.set(1, 0, 0);
  u.normalize();
  return Array.from({ length: 16 }, (_, k) => u.clone().applyAxisAngle(a, (k * Math.PI) / 8));
}

function waysAll() {
  const made = [];
  for (const z of [0.25, 0.7, -0.35]) for (let k = 0; k < 8; k += 1) made.push(new THREE.Vector3(Math.cos((k * Math.PI) / 4), Math.sin((k * Math.PI) / 4), z).normalize());
  return made;
}

// from above an axis, leaning to all sides: a fan about it is seen open
function waysOver(axis) {
  const a = axis.clone().normalize();
  return [0.5, 1].flatMap((lift) => waysAround(a).map((w) => w.addScaledVector(a, lift).normalize()));
}
