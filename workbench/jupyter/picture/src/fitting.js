// What a part is to fit, drawn from its reading: a slot's or a shaft's faces as ghosts.

import { dot } from "./turning.js";

// Triangles, as Float32Arrays of nine numbers each, for every size of which a fit was said. `times`
// enlarges the gap: 1 for the true one.
export function fitting(sizes, body, times) {
  return sizes.filter((size) => size.mating).map((size) => {
    const far = size.value + times * (size.mating - size.value);
    return size.kind === "circle" ? ring(size, body, far / 2) : plates(size, body, far);
  }).filter(Boolean);
}

// The two faces on both sides of a length, as walls as large as the body there and a little more.
function plates({ axis, start, end }, { corners }, far) {
  if (!axis) return null;
  const middle = (dot(start[0], axis) + dot(end[0], axis)) / 2;
  const u = unit(cross(axis, Math.abs(axis[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0])), v = cross(axis, u);
  const [a, b, c, d] = [...reach(corners, u), ...reach(corners, v)];
  const thick = Math.max(0.6, 0.05 * Math.max(b - a, d - c));
  const faces = [];
  for (const [at, out] of [[middle - far / 2, -thick], [middle + far / 2, thick]]) {
    const spot = (x, y, z) => axis.map((value, k) => value * z + u[k] * x + v[k] * y);
    const ring = [[a - 1, c - 1], [b + 1, c - 1], [b + 1, d + 1], [a - 1, d + 1]];
    const near = ring.map(([x, y]) => spot(x, y, at)), back = ring.map(([x, y]) => spot(x, y, at + out));
    faces.push(...quad(...near), ...quad(...back));
    for (let i = 0; i < 4; i++) faces.push(...quad(near[i], near[(i + 1) % 4], back[(i + 1) % 4], back[i]));
  }
  return new Float32Array(faces);
}

function ring({ centre, axis }, { corners }, radius) {
  const u = unit(cross(axis, Math.abs(axis[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0])), v = cross(axis, u);
  const [low, high] = reach(corners, axis);
  const foot = dot(centre, axis);
  const faces = [];
  const spot = (i, at) => {
    const turn = (i * Math.PI) / 24;
    return centre.map((value, k) => value + axis[k] * (at - foot) + radius * (Math.cos(turn) * u[k] + Math.sin(turn) * v[k]));
  };
  for (let i = 0; i < 48; i++) faces.push(...quad(spot(i, low - 1), spot(i + 1, low - 1), spot(i + 1, high + 1), spot(i, high + 1)));
  return new Float32Array(faces);
}

function reach(corners, way) {
  let low = Infinity, high = -Infinity;
  for (let i = 0; i < corners.length; i += 3) {
    const at = corners[i] * way[0] + corners[i + 1] * way[1] + corners[i + 2] * way[2];
    low = Math.min(low, at);
    high = Math.max(high, at);
  }
  return [low, high];
}

const quad = (a, b, c, d) => [...a, ...b, ...c, ...a, ...c, ...d];
const unit = (a) => { const s = Math.hypot(...a) || 1; return a.map((value) => value / s); };
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
