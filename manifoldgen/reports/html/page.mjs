// What every module stands on: the page's elements, the job's scene, the 3-D library, one line of words.

export const THREE = {}; // filled when the library has been read
export const element = (id) => document.getElementById(id);
export const scene = JSON.parse(element('scene').textContent);
export const v3 = (p) => new THREE.Vector3(p[0], p[1], p[2]);
export const colourOf = (name) => new THREE.Color(getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim());
const IDLE = 'Pick a line of a list, or a part in the view.';

export function say(text) { element('said').textContent = text || IDLE; }
