// A mesh as the kernel packs it: a table of points on a fine grid, and triangles with owners.

const SMOOTH = Math.cos((30 * Math.PI) / 180); // surfaces that turn less look as one
const CREASE = Math.cos((25 * Math.PI) / 180); // edges that turn more are drawn

const aligned = (view, Type) =>
  new Type(view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength));

// At least so many numbers of a kind, in a buffer that is kept while it is large enough: while a hand
// moves, new ones for every part kept the browser busy with taking the old ones away.
class Kept {
  buffers = {};

  of(name, Type, count) {
    if ((this.buffers[name]?.length ?? -1) < count) {
      const wider = new Type(Math.ceil(1.25 * count));
      if (this.buffers[name]) wider.set(this.buffers[name]);
      this.buffers[name] = wider;
    }
    return this.buffers[name].subarray(0, count);
  }
}

export class Mesh {
  version = 0;
  seen = 0; // the version that last changed what is shown
  grid = 1;
  kept = new Kept();
  points = new Int16Array(0);
  // All triangles that were told of, and of each whether it is shown.
  all = { triangles: new Uint32Array(0), owners: new Uint16Array(0), shown: new Uint8Array(0) };
  triangles = new Uint32Array(0);
  owners = new Uint16Array(0);

  // Takes in a message; false where it does not follow on what is here.
  take(header, parts) {
    if (header.base >= 0 && header.base !== this.version) return false;
    const whole = header.base < 0;
    const turns = aligned(parts[0], header.far ? Uint32Array : Uint16Array);
    const points = aligned(parts[1], Int16Array);
    const triangles = aligned(parts[2], header.wide ? Uint32Array : Uint16Array);
    const [runs, back] = [aligned(parts[3], Uint16Array), aligned(parts[4], Uint16Array)];
    const [placed, before] = whole ? [0, 0] : [this.points.length, this.all.owners.length];
    const count = before + triangles.length / 3;
    const all = {
      triangles: this.kept.of("all", Uint32Array, 3 * count),
      owners: this.kept.of("owned", Uint16Array, count),
      shown: this.kept.of("shown", Uint8Array, count).fill(header.show ? 1 : 0, before),
    };
    this.points = this.kept.of("points", Int16Array, placed + points.length);
    this.points.set(points, placed);
    all.triangles.set(triangles, 3 * before);
    let to = before;
    for (let i = 0; i < runs.length; i += 2) all.owners.fill(runs[i], to, (to += runs[i + 1]));
    // Stretches of triangles go or come back; those that come back are owned anew.
    let at = 0, run = 0, left = back[1];
    for (let i = 0; i < turns.length; i += 2) {
      const end = (at += turns[i]) + turns[i + 1];
      for (; at < end; at++) {
        all.shown[at] ^= 1;
        if (!all.shown[at] || !back.length) continue;
        while (!left) left = back[(run += 2) + 1];
        all.owners[at] = back[run];
        left--;
      }
    }
    this.all = all;
    this.grid = header.grid;
    this.version = header.version;
    if (header.show) this.choose();
    return true;
  }

  // Those triangles that are shown.
  choose() {
    const { triangles, owners, shown } = this.all;
    let count = 0;
    for (let i = 0; i < shown.length; i++) count += shown[i];
    this.triangles = this.kept.of("triangles", Uint32Array, 3 * count);
    this.owners = this.kept.of("owners", Uint16Array, count);
    for (let i = 0, to = 0; i < shown.length; i++) {
      if (!shown[i]) continue;
      for (let k = 0; k < 3; k++) this.triangles[3 * to + k] = triangles[3 * i + k];
      this.owners[to++] = owners[i];
    }
    this.seen = this.version;
  }

  // What is drawn: corners and smooth normals of each triangle, edges, and what lies across smooth ones.
  // It holds until the next one is asked for.
  surface() {
    const { points, triangles, owners, grid, kept } = this;
    const count = owners.length;
    const corners = kept.of("corners", Float32Array, 9 * count);
    const flat = kept.of("flat", Float32Array, 3 * count).fill(0);
    const area = kept.of("area", Float32Array, count).fill(0);
    for (let i = 0, to = 0; i < 3 * count; i++) {
      const p = 3 * triangles[i];
      corners[to++] = points[p] * grid;
      corners[to++] = points[p + 1] * grid;
      corners[to++] = points[p + 2] * grid;
    }
    for (let i = 0, c = 0; i < count; i++, c += 9) {
      const ux = corners[c + 3] - corners[c], uy = corners[c + 4] - corners[c + 1], uz = corners[c + 5] - corners[c + 2];
      const vx = corners[c + 6] - corners[c], vy = corners[c + 7] - corners[c + 1], vz = corners[c + 8] - corners[c + 2];
      const nx = uy * vz - uz * vy, ny = uz * vx - ux * vz, nz = ux * vy - uy * vx;
      const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
      if (!size) continue;
      area[i] = size;
      flat[3 * i] = nx / size;
      flat[3 * i + 1] = ny / size;
      flat[3 * i + 2] = nz / size;
    }
    const { start, near } = meeting(triangles, points.length / 3, kept);
    const normals = smooth(triangles, flat, area, start, near, kept);
    return { corners, normals, flat, owners, ...edges(triangles, flat, corners, start, near, kept) };
  }
}

// The corners of triangles that lie on each point: those of point p are near[start[p]] to near[start[p + 1] - 1].
function meeting(triangles, count, kept) {
  const start = kept.of("start", Uint32Array, count + 1).fill(0);
  for (let i = 0; i < triangles.length; i++) start[triangles[i] + 1]++;
  for (let i = 0; i < count; i++) start[i + 1] += start[i];
  const near = kept.of("near", Uint32Array, triangles.length);
  const fill = kept.of("fill", Uint32Array, count + 1);
  fill.set(start);
  for (let i = 0; i < triangles.length; i++) near[fill[triangles[i]]++] = i;
  return { start, near };
}

function smooth(triangles, flat, area, start, near, kept) {
  const normals = kept.of("normals", Float32Array, 3 * triangles.length);
  for (let i = 0; i < triangles.length; i++) {
    const own = i - (i % 3);
    const x = flat[own], y = flat[own + 1], z = flat[own + 2];
    let sx = 0, sy = 0, sz = 0;
    for (let j = start[triangles[i]]; j < start[triangles[i] + 1]; j++) {
      const other = near[j] - (near[j] % 3);
      if (x * flat[other] + y * flat[other + 1] + z * flat[other + 2] <= SMOOTH) continue;
      const weight = area[other / 3];
      sx += flat[other] * weight;
      sy += flat[other + 1] * weight;
      sz += flat[other + 2] * weight;
    }
    const size = Math.sqrt(sx * sx + sy * sy + sz * sz);
    normals[3 * i] = size ? sx / size : x;
    normals[3 * i + 1] = size ? sy / size : y;
    normals[3 * i + 2] = size ? sz / size : z;
  }
  return normals;
}

function edges(triangles, flat, corners, start, near, kept) {
  const beside = kept.of("beside", Int32Array, triangles.length).fill(-1); // the triangle across a smooth edge
  const lines = kept.of("lines", Float32Array, 3 * triangles.length);
  let to = 0;
  for (let i = 0; i < triangles.length; i++) {
    const next = i % 3 === 2 ? i - 2 : i + 1;
    const a = triangles[i], b = triangles[next];
    if (a > b) continue; // seen from its other side
    // Across it lies the triangle that has this edge the other way round.
    for (let j = start[b]; j < start[b + 1]; j++) {
      const mate = near[j];
      if (triangles[mate % 3 === 2 ? mate - 2 : mate + 1] !== a) continue;
      const one = i - (i % 3), two = mate - (mate % 3);
      const turn = flat[one] * flat[two] + flat[one + 1] * flat[two + 1] + flat[one + 2] * flat[two + 2];
      if (turn >= CREASE) {
        beside[i] = two / 3;
        beside[mate] = one / 3;
      } else {
        for (let k = 0; k < 3; k++) lines[to + k] = corners[3 * i + k];
        for (let k = 0; k < 3; k++) lines[to + 3 + k] = corners[3 * next + k];
        to += 6;
      }
      break;
    }
  }
  return { lines: lines.subarray(0, to), beside };
}
