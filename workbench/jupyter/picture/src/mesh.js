// A mesh as the kernel packs it: a table of points on a fine grid, and triangles with owners.

const SMOOTH = Math.cos((30 * Math.PI) / 180); // surfaces that turn less look as one
const CREASE = Math.cos((25 * Math.PI) / 180); // edges that turn more are drawn

const aligned = (view, Type) =>
  new Type(view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength));

export class Mesh {
  version = 0;
  points = new Int16Array(0);
  triangles = new Uint32Array(0);
  owners = new Uint16Array(0);
  grid = 1;

  // Takes in a message; false where it does not follow on what is here.
  take(header, parts) {
    if (header.base >= 0 && header.base !== this.version) return false;
    const whole = header.base < 0;
    const gone = aligned(parts[0], header.far ? Uint32Array : Uint16Array);
    const points = aligned(parts[1], Int16Array);
    const triangles = aligned(parts[2], header.wide ? Uint32Array : Uint16Array);
    const runs = aligned(parts[3], Uint16Array);
    const out = new Set();
    let at = 0;
    for (const step of gone) out.add((at += step));
    const before = whole ? 0 : this.owners.length;
    const kept = before - out.size;
    const table = new Int16Array((whole ? 0 : this.points.length) + points.length);
    if (!whole) table.set(this.points);
    table.set(points, table.length - points.length);
    const all = new Uint32Array(3 * kept + triangles.length);
    const owners = new Uint16Array(all.length / 3);
    let to = 0;
    for (let i = 0; i < before; i++) {
      if (out.has(i)) continue;
      all.set(this.triangles.subarray(3 * i, 3 * i + 3), 3 * to);
      owners[to++] = this.owners[i];
    }
    all.set(triangles, 3 * kept);
    for (let i = 0; i < runs.length; i += 2) {
      owners.fill(runs[i], to, to + runs[i + 1]);
      to += runs[i + 1];
    }
    this.points = table;
    this.triangles = all;
    this.owners = owners;
    this.grid = header.grid;
    this.version = header.version;
    return true;
  }

  // What is drawn: corners and smooth normals of each triangle, edges with the owners beside them.
  surface() {
    const { points, triangles, owners, grid } = this;
    const count = owners.length;
    const corners = new Float32Array(9 * count);
    const flat = new Float32Array(3 * count);
    const area = new Float32Array(count);
    for (let i = 0; i < 3 * count; i++) {
      const p = 3 * triangles[i];
      corners[3 * i] = points[p] * grid;
      corners[3 * i + 1] = points[p + 1] * grid;
      corners[3 * i + 2] = points[p + 2] * grid;
    }
    for (let i = 0; i < count; i++) {
      const c = corners.subarray(9 * i, 9 * i + 9);
      const ux = c[3] - c[0], uy = c[4] - c[1], uz = c[5] - c[2];
      const vx = c[6] - c[0], vy = c[7] - c[1], vz = c[8] - c[2];
      const nx = uy * vz - uz * vy, ny = uz * vx - ux * vz, nz = ux * vy - uy * vx;
      const size = Math.hypot(nx, ny, nz);
      area[i] = size;
      flat.set(size ? [nx / size, ny / size, nz / size] : [0, 0, 0], 3 * i);
    }
    const normals = smooth(triangles, flat, area, points.length / 3);
    return { corners, normals, flat, owners, ...edges(triangles, flat, owners, corners) };
  }
}

function smooth(triangles, flat, area, count) {
  const start = new Uint32Array(count + 1);
  for (const point of triangles) start[point + 1]++;
  for (let i = 0; i < count; i++) start[i + 1] += start[i];
  const near = new Uint32Array(triangles.length);
  const fill = start.slice();
  for (let i = 0; i < triangles.length; i++) near[fill[triangles[i]]++] = Math.floor(i / 3);
  const normals = new Float32Array(3 * triangles.length);
  for (let i = 0; i < triangles.length; i++) {
    const own = 3 * Math.floor(i / 3);
    const x = flat[own], y = flat[own + 1], z = flat[own + 2];
    let sx = 0, sy = 0, sz = 0;
    for (let j = start[triangles[i]]; j < start[triangles[i] + 1]; j++) {
      const other = 3 * near[j];
      if (x * flat[other] + y * flat[other + 1] + z * flat[other + 2] <= SMOOTH) continue;
      const weight = area[near[j]];
      sx += flat[other] * weight;
      sy += flat[other + 1] * weight;
      sz += flat[other + 2] * weight;
    }
    const size = Math.hypot(sx, sy, sz);
    normals.set(size ? [sx / size, sy / size, sz / size] : [x, y, z], 3 * i);
  }
  return normals;
}

function edges(triangles, flat, owners, corners) {
  const open = new Map();
  const beside = new Int32Array(triangles.length).fill(-1); // the triangle across a smooth edge
  const lines = [];
  const sides = [];
  for (let i = 0; i < triangles.length; i++) {
    const face = Math.floor(i / 3);
    const next = i % 3 === 2 ? i - 2 : i + 1;
    const a = triangles[i], b = triangles[next];
    const key = a < b ? a * 2097152 + b : b * 2097152 + a;
    const mate = open.get(key);
    if (mate === undefined) {
      open.set(key, i);
      continue;
    }
    open.delete(key);
    const other = Math.floor(mate / 3);
    const one = 3 * face, two = 3 * other;
    const turn = flat[one] * flat[two] + flat[one + 1] * flat[two + 1] + flat[one + 2] * flat[two + 2];
    if (turn >= CREASE) {
      beside[i] = other;
      beside[mate] = face;
      continue;
    }
    lines.push(
      corners[3 * i], corners[3 * i + 1], corners[3 * i + 2],
      corners[3 * next], corners[3 * next + 1], corners[3 * next + 2],
    );
    sides.push(owners[face], owners[other]);
  }
  return { lines: new Float32Array(lines), sides: new Uint16Array(sides), beside };
}
