// Measuring between two places of the part, told as calipers would read it.

import { dot } from "./turning.js";

const CORNER = 9; // pixels from which a corner is caught, and an edge
const EDGE = 7;
const PARALLEL = 0.9998;

// What lies under a spot: a corner, an edge, a flat face or a round one; null for nothing.
export function caught(stage, turning, x, y) {
  const hit = stage.under(x, y, turning);
  if (!hit) return null;
  const { lines } = stage.surface;
  const slack = 3 / turning.scale;
  const [, , out] = turning.axes();
  const deep = dot(hit.place, out);
  let best = null;
  for (let i = 0; i < lines.length; i += 6) {
    const a = [lines[i], lines[i + 1], lines[i + 2]], b = [lines[i + 3], lines[i + 4], lines[i + 5]];
    const p = turning.spot(a), q = turning.spot(b);
    const ux = q[0] - p[0], uy = q[1] - p[1];
    const size = ux * ux + uy * uy;
    const t = size ? Math.max(0, Math.min(1, ((x - p[0]) * ux + (y - p[1]) * uy) / size)) : 0;
    const place = a.map((value, k) => value + (b[k] - value) * t);
    if (dot(place, out) < deep - slack * 4) continue; // behind what is seen
    const off = Math.hypot(p[0] + ux * t - x, p[1] + uy * t - y);
    if (off > CORNER) continue;
    for (const [end, spot] of [[a, p], [b, q]]) {
      const far = Math.hypot(spot[0] - x, spot[1] - y);
      if (far < CORNER && sharp(lines, i, end) && (!best || best.kind === "edge" || far < best.far)) {
        best = { kind: "corner", at: end, far };
      }
    }
    if (off < EDGE && (!best || (best.kind === "edge" && off < best.far))) best = { kind: "edge", a, b, at: place, far: off };
  }
  return best ?? face(stage.surface, hit);
}

// Whether an edge ends at a place: the next one there runs another way.
function sharp(lines, own, place) {
  const way = unit([0, 1, 2].map((k) => lines[own + 3 + k] - lines[own + k]));
  for (let i = 0; i < lines.length; i += 6) {
    if (i === own) continue;
    const meets = [0, 3].some((o) => Math.abs(lines[i + o] - place[0]) + Math.abs(lines[i + o + 1] - place[1]) + Math.abs(lines[i + o + 2] - place[2]) < 1e-3);
    if (!meets) continue;
    const other = unit([0, 1, 2].map((k) => lines[i + 3 + k] - lines[i + k]));
    if (Math.abs(dot(way, other)) < 0.9) return true;
  }
  return false;
}

// The face round a triangle: flat, or round with its axis, centre and radius.
function face({ corners, flat, beside }, { triangle, place }) {
  const patch = new Set([triangle]);
  for (const one of patch) {
    for (let k = 0; k < 3; k++) if (beside[3 * one + k] >= 0) patch.add(beside[3 * one + k]);
  }
  const normal = (i) => [flat[3 * i], flat[3 * i + 1], flat[3 * i + 2]];
  const first = normal(triangle);
  let axis = null, most = 0.02;
  for (const one of patch) {
    const across = cross(first, normal(one));
    const size = Math.hypot(...across);
    if (size > most) [axis, most] = [across.map((value) => value / size), size];
  }
  const plain = { kind: "face", at: place, normal: first };
  if (!axis) return plain;
  for (const one of patch) if (Math.abs(dot(normal(one), axis)) > 0.02) return plain;
  // Square to the axis every normal points at the centre, or away from it.
  const u = unit(cross(axis, Math.abs(axis[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0])), v = cross(axis, u);
  let [sxx, sxy, syy, bx, by] = [0, 0, 0, 0, 0];
  const middle = (i) => [0, 1, 2].map((k) => (corners[9 * i + k] + corners[9 * i + 3 + k] + corners[9 * i + 6 + k]) / 3);
  for (const one of patch) {
    const n = normal(one), p = middle(one);
    const [tx, ty] = [-dot(n, v), dot(n, u)]; // square to the normal
    const along = tx * dot(p, u) + ty * dot(p, v);
    sxx += tx * tx; sxy += tx * ty; syy += ty * ty; bx += tx * along; by += ty * along;
  }
  const det = sxx * syy - sxy * sxy;
  if (Math.abs(det) < 1e-9) return plain;
  const cx = (bx * syy - by * sxy) / det, cy = (by * sxx - bx * sxy) / det;
  let radius = 0, count = 0;
  for (const one of patch) {
    for (let k = 0; k < 3; k++) {
      const p = [corners[9 * one + 3 * k], corners[9 * one + 3 * k + 1], corners[9 * one + 3 * k + 2]];
      radius += Math.hypot(dot(p, u) - cx, dot(p, v) - cy);
      count++;
    }
  }
  radius /= count;
  for (const one of patch) {
    const p = [corners[9 * one], corners[9 * one + 1], corners[9 * one + 2]];
    if (Math.abs(Math.hypot(dot(p, u) - cx, dot(p, v) - cy) - radius) > 0.03 + 0.01 * radius) return plain;
  }
  const foot = dot(place, axis);
  const centre = axis.map((value, k) => value * foot + u[k] * cx + v[k] * cy);
  const hollow = dot(first, sub(place, centre)) < 0;
  return { kind: "round", at: place, axis, centre, radius, hollow };
}

// What calipers would read between two places, or across one round face: {name, value, from, to}.
export function read(one, two) {
  if (!two) {
    if (one.kind !== "round") return null;
    const way = unit(sub(one.at, one.centre)).map((value) => value * one.radius);
    const from = one.centre.map((value, k) => value - way[k]), to = one.centre.map((value, k) => value + way[k]);
    return { name: one.hollow ? "inside diameter" : "outside diameter", value: 2 * one.radius, from, to };
  }
  if (two.kind === "face" && one.kind !== "face") return read(two, one);
  if (one.kind === "face") {
    const other = two.kind === "round" ? two.centre : two.at;
    const level =
      two.kind === "face" ? Math.abs(dot(one.normal, two.normal)) > PARALLEL
      : two.kind === "edge" ? Math.abs(dot(unit(sub(two.b, two.a)), one.normal)) < 0.02
      : two.kind === "round" ? Math.abs(dot(two.axis, one.normal)) < 0.02
      : true;
    if (level) {
      const far = dot(sub(other, one.at), one.normal);
      const from = other.map((value, k) => value - one.normal[k] * far);
      let name = two.kind === "round" ? "to the centre" : "depth";
      if (two.kind === "face" && dot(one.normal, two.normal) < 0) name = far < 0 ? "outside" : "inside";
      return { name, value: Math.abs(far), from, to: other };
    }
    if (two.kind === "face") return { name: "angle", degrees: (Math.acos(Math.max(-1, Math.min(1, -dot(one.normal, two.normal)))) * 180) / Math.PI, from: one.at, to: two.at };
  }
  if (one.kind === "round" && two.kind === "round" && Math.abs(dot(one.axis, two.axis)) > PARALLEL) {
    const d = sub(two.centre, one.centre), along = dot(d, one.axis);
    const to = two.centre.map((value, k) => value - one.axis[k] * along);
    return { name: "between the centres", value: distance(one.centre, to), from: one.centre, to };
  }
  if (one.kind === "edge" && two.kind === "edge") {
    const way = unit(sub(one.b, one.a));
    if (Math.abs(dot(way, unit(sub(two.b, two.a)))) > PARALLEL) {
      const along = dot(sub(two.at, one.at), way);
      const to = two.at.map((value, k) => value - way[k] * along);
      return { name: "straight across", value: distance(one.at, to), from: one.at, to };
    }
  }
  const line = [one, two].find((each) => each.kind === "edge"), point = [one, two].find((each) => each.kind === "corner");
  if (line && point) {
    const way = unit(sub(line.b, line.a)), along = dot(sub(point.at, line.a), way);
    const from = line.a.map((value, k) => value + way[k] * along);
    return { name: "straight across", value: distance(from, point.at), from, to: point.at };
  }
  const ends = [one, two].map((each) => (each.kind === "round" ? each.centre : each.at));
  return { name: "straight across", value: distance(...ends), from: ends[0], to: ends[1], parts: sub(ends[1], ends[0]) };
}

const sub = (a, b) => a.map((value, k) => value - b[k]);
const distance = (a, b) => Math.hypot(...sub(a, b));
const unit = (a) => { const s = Math.hypot(...a) || 1; return a.map((value) => value / s); };
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
