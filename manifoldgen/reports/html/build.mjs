// Triangles out of the page, and bodies out of triangles.
import { element, scene, THREE } from './page.mjs';

const CREASE = Math.cos((32 * Math.PI) / 180); // sharper than this is an edge, else it is round

export function unpacked() {
  const raw = atob(element('triangles').textContent.trim());
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  const { low, step } = scene.grid;
  return scene.meshes.map((told) => {
    const [corners, count, faces, triangles, wide] = told.at;
    const steps = new Uint16Array(bytes.buffer, corners, 3 * count);
    const points = new Float32Array(3 * count);
    for (let i = 0; i < points.length; i += 1) points[i] = low[i % 3] + step[i % 3] * steps[i];
    const Kind = wide ? Uint32Array : Uint16Array;
    return { ...told, points, faces: new Kind(bytes.buffer, faces, 3 * triangles) };
  });
}

// face normals, twice the area long, and the same of length 1
function faceNormals(points, faces) {
  const long = new Float32Array(faces.length);
  const one = new Float32Array(faces.length);
  for (let f = 0; f < faces.length; f += 3) {
    const [a, b, c] = [3 * faces[f], 3 * faces[f + 1], 3 * faces[f + 2]];
    const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
    const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
    long[f] = uy * vz - uz * vy;
    long[f + 1] = uz * vx - ux * vz;
    long[f + 2] = ux * vy - uy * vx;
    const size = Math.hypot(long[f], long[f + 1], long[f + 2]) || 1;
    for (let k = 0; k < 3; k += 1) one[f + k] = long[f + k] / size;
  }
  return { long, one };
}

// a body with round places smooth and edges sharp, and those edges as lines
export function geometries(points, faces) {
  const { long, one } = faceNormals(points, faces);
  const first = new Uint32Array(points.length / 3 + 1);
  for (const v of faces) first[v + 1] += 1;
  for (let v = 0; v + 1 < first.length; v += 1) first[v + 1] += first[v];
  const around = new Uint32Array(faces.length);
  const filled = first.slice();
  for (let i = 0; i < faces.length; i += 1) { around[filled[faces[i]]] = i - (i % 3); filled[faces[i]] += 1; }
  const position = new Float32Array(3 * faces.length);
  const normal = new Float32Array(3 * faces.length);
  for (let i = 0; i < faces.length; i += 1) {
    const f = i - (i % 3), v = faces[i];
    let x = 0, y = 0, z = 0;
    for (let k = first[v]; k < first[v + 1]; k += 1) {
      const g = around[k];
      if (one[f] * one[g] + one[f + 1] * one[g + 1] + one[f + 2] * one[g + 2] > CREASE) { x += long[g]; y += long[g + 1]; z += long[g + 2]; }
    }
    const size = Math.hypot(x, y, z) || 1;
    normal.set([x / size, y / size, z / size], 3 * i);
    position.set([points[3 * v], points[3 * v + 1], points[3 * v + 2]], 3 * i);
  }
  const body = new THREE.BufferGeometry();
  body.setAttribute('position', new THREE.BufferAttribute(position, 3));
  body.setAttribute('normal', new THREE.BufferAttribute(normal, 3));
  const lines = new THREE.BufferGeometry();
  lines.setAttribute('position', new THREE.Float32BufferAttribute(creases(points, faces, one), 3));
  return { body, lines };
}

function creases(points, faces, one) {
  const met = new Map();
  const made = [];
  const count = points.length / 3;
  for (let i = 0; i < faces.length; i += 1) {
    const f = i - (i % 3), a = faces[i], b = faces[f + ((i + 1) % 3)];
    const key = a < b ? a * count + b : b * count + a;
    const g = met.get(key);
    if (g === undefined) { met.set(key, f); continue; }
    met.delete(key);
    if (one[f] * one[g] + one[f + 1] * one[g + 1] + one[f + 2] * one[g + 2] < CREASE) {
      for (const v of [a, b]) made.push(points[3 * v], points[3 * v + 1], points[3 * v + 2]);
    }
  }
  return made;
}

// what a part is made of to the eye: names of the page's colours
export function tone(told) {
  if (told.kind !== 'part') return told.kind === 'nut' ? 'brass' : 'other';
  if (told.role === 'flange') return 'plate';
  return told.number % 2 === 1 ? 'steel2' : 'steel';
}
