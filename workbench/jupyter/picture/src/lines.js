// Lines as wide as a pen's: each a flat strip that turns towards the eye, with ends that reach half its
// width beyond, so that corners close. Many lines are one body: a browser that draws without a graphics
// card begins anew for each body, and is slow at each corner.

import {
  BufferGeometry,
  Color,
  DynamicDrawUsage,
  InterleavedBuffer,
  InterleavedBufferAttribute,
  LessEqualDepth,
  Mesh as Body,
  ShaderMaterial,
  Sphere,
  Uint32BufferAttribute,
} from "three";

// Corners 0 and 1 of a strip lie at its start, 2 and 3 at its end; seen towards the other end, the even
// ones to the left.
const VERTEX = `
  uniform vec2 picture;
  uniform float width;
  attribute vec3 other;
  attribute float far;
  varying float along;
  #include <clipping_planes_pars_vertex>
  void main() {
    vec4 mvPosition = modelViewMatrix * vec4(position, 1.0);
    gl_Position = projectionMatrix * mvPosition;
    vec2 way = ((projectionMatrix * (modelViewMatrix * vec4(other, 1.0))).xy - gl_Position.xy) * picture;
    way = length(way) > 1e-4 ? normalize(way) : vec2(1.0, 0.0);
    vec2 side = gl_VertexID % 2 == 0 ? vec2(-way.y, way.x) : vec2(way.y, -way.x);
    gl_Position.xy += (side - way) * width / picture;
    along = far;
    #include <clipping_planes_vertex>
  }`;
const FRAGMENT = `
  uniform vec3 colour;
  uniform vec2 dashes;
  varying float along;
  #include <clipping_planes_pars_fragment>
  void main() {
    #include <clipping_planes_fragment>
    if (dashes.y > 0.0 && mod(along, dashes.x + dashes.y) > dashes.x) discard;
    gl_FragColor = vec4(colour, 1.0);
    #include <colorspace_fragment>
  }`;

const STRIP = [0, 1, 2, 0, 2, 3]; // its two triangles
const WIDE = 7; // numbers of a corner: its place, the other end, how far along all lines

// Where a body lies that is never looked for.
export const EVERYWHERE = new Sphere(undefined, Infinity);

// Puts numbers into a buffer that has room for them, which is sent on as far as it was filled.
export function fill(buffer, values) {
  buffer.array.set(values);
  sent(buffer, values.length);
}

// Has the first numbers of a buffer sent on.
export function sent(buffer, count) {
  buffer.clearUpdateRanges();
  buffer.addUpdateRange(0, count);
  buffer.needsUpdate = true;
}

export class Lines extends Body {
  // `width` in pixels of `picture`, a Vector2 of its size, which may change. `dashes` are the lengths
  // of a dash and of a gap, in mm. Laid like `twin`, if there is one.
  constructor(picture, colour, width, { dashes = [0, 0], depthFunc = LessEqualDepth, twin = null } = {}) {
    const uniforms = { picture: { value: picture }, width: { value: width }, colour: { value: new Color(colour) }, dashes: { value: dashes } };
    const material = new ShaderMaterial({ uniforms, vertexShader: VERTEX, fragmentShader: FRAGMENT, depthFunc, depthWrite: false });
    super(twin?.geometry ?? new BufferGeometry(), material);
    this.frustumCulled = false;
    this.visible = false;
    this.room = 0;
  }

  // Gives them other ends, a Float32Array of six numbers each.
  lay(ends) {
    const count = ends.length / 6;
    this.visible = count > 0;
    if (!count) return;
    if (count > this.room) this.widen(Math.ceil(1.25 * count));
    const { data } = this.geometry.getAttribute("position");
    const all = data.array;
    let far = 0;
    for (let i = 0, at = 0; i < 6 * count; i += 6) {
      const long = Math.hypot(ends[i + 3] - ends[i], ends[i + 4] - ends[i + 1], ends[i + 5] - ends[i + 2]);
      for (let corner = 0; corner < 4; corner++, at += WIDE) {
        const own = corner < 2 ? i : i + 3, other = corner < 2 ? i + 3 : i;
        all[at] = ends[own];
        all[at + 1] = ends[own + 1];
        all[at + 2] = ends[own + 2];
        all[at + 3] = ends[other];
        all[at + 4] = ends[other + 1];
        all[at + 5] = ends[other + 2];
        all[at + 6] = corner < 2 ? far : far + long;
      }
      far += long;
    }
    sent(data, 4 * WIDE * count);
    this.geometry.setDrawRange(0, 6 * count);
  }

  // Makes room for more lines: buffers that stay are filled sooner than new ones.
  widen(room) {
    this.room = room;
    this.geometry.dispose();
    const corners = new Uint32Array(6 * room);
    for (let i = 0; i < corners.length; i++) corners[i] = 4 * Math.floor(i / 6) + STRIP[i % 6];
    const data = new InterleavedBuffer(new Float32Array(4 * WIDE * room), WIDE).setUsage(DynamicDrawUsage);
    this.geometry.setIndex(new Uint32BufferAttribute(corners, 1));
    const parts = { position: [3, 0], other: [3, 3], far: [1, 6] };
    for (const [name, [size, from]] of Object.entries(parts)) this.geometry.setAttribute(name, new InterleavedBufferAttribute(data, size, from));
    this.geometry.boundingSphere = EVERYWHERE;
  }
}
