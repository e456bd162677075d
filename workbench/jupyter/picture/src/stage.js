// What three.js draws: the part, its edges, the bed, ghosts; on demand, never by itself.

import {
  AlwaysStencilFunc,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  CanvasTexture,
  Color,
  DecrementWrapStencilOp,
  DoubleSide,
  DynamicDrawUsage,
  FrontSide,
  GreaterDepth,
  Group,
  IncrementWrapStencilOp,
  Mesh as Body,
  MeshBasicMaterial,
  NotEqualStencilFunc,
  OrthographicCamera,
  Plane,
  PlaneGeometry,
  RepeatWrapping,
  ReplaceStencilOp,
  SRGBColorSpace,
  Scene,
  ShaderMaterial,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { EVERYWHERE, Lines, fill, sent } from "./lines.js";

// Of the part, of the steps one by one where they are told apart, and of what is taken away.
const PART = "#a8c2be";
const PIECES = ["#a9c4c1", "#d9cdb0", "#b9c3d6", "#cfb9b0", "#c3cfae", "#c9bdd0"];
const TAKEN = "#e8b7a8";
const BESIDE = "#8c93b8"; // another part

// The light is worked out at the corners alone: where no graphics card draws, working it out at every
// point of the picture took most of a frame. It is that of a matt surface, by Lambert's law.
const VERTEX = `
  uniform vec3 key, paper;
  varying vec3 seen;
  #include <clipping_planes_pars_vertex>
  void main() {
    vec4 mvPosition = modelViewMatrix * vec4(position, 1.0);
    gl_Position = projectionMatrix * mvPosition;
    vec3 light = 0.51 * max(dot(normal, key), 0.0) + 0.62 * mix(paper, vec3(1.0), 0.5 * normal.z + 0.5);
    vec3 shade = min(color * light, 1.0);
    seen = mix(1.055 * pow(shade, vec3(1.0 / 2.4)) - 0.055, 12.92 * shade, vec3(lessThan(shade, vec3(0.0031))));
    #include <clipping_planes_vertex>
  }`;
const FRAGMENT = `
  varying vec3 seen;
  #include <clipping_planes_pars_fragment>
  void main() {
    #include <clipping_planes_fragment>
    gl_FragColor = vec4(seen, 1.0);
  }`;

export class Stage {
  constructor(canvas, colours) {
    this.colours = colours;
    // Without a graphics card smooth edges cost more than all else: there a picture that moves goes
    // without them, and one that rests is drawn in twice the pixels.
    this.fast = withCard();
    this.renderer = new WebGLRenderer({ canvas, antialias: this.fast, stencil: true, alpha: false });
    this.renderer.setClearColor(colours.paper);
    this.size = new Vector2(1, 1); // of the picture, in pixels
    this.scene = new Scene();
    this.camera = new OrthographicCamera();
    this.camera.matrixAutoUpdate = false;
    this.key = new Vector3(); // the way to the light, which moves with the eye: over its left shoulder
    const material = new ShaderMaterial({
      uniforms: { key: { value: this.key }, paper: { value: new Color("#eee8da") } },
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      vertexColors: true,
      polygonOffset: true,
      polygonOffsetFactor: 1.5,
      polygonOffsetUnits: 2,
    });
    this.part = new Body(new BufferGeometry(), material);
    this.part.frustumCulled = false;
    this.part.geometry.boundingSphere = EVERYWHERE;
    this.bed = new Group();
    this.ghosts = new Group();
    this.materials = {}; // those that last
    this.edges = new Lines(this.size, colours.ink, 1.3);
    this.chosen = new Lines(this.size, colours.accent, 2.8);
    this.hidden = new Lines(this.size, colours.accent, 1.6, { depthFunc: GreaterDepth, twin: this.chosen });
    // What is seen through the part is no line that lies on its surface.
    this.hidden.material.polygonOffset = true;
    this.hidden.material.polygonOffsetUnits = -400;
    this.others = new Group();
    this.outer = null; // bounds of the other parts
    this.around = new Lines(this.size, BESIDE, 1.2);
    this.scene.add(this.part, this.bed, this.ghosts, this.others, this.around, this.edges, this.chosen, this.hidden);
    [this.edges, this.chosen, this.hidden].forEach((drawn, i) => (drawn.renderOrder = i + 1));
    this.bounds = [[-20, -20, 0], [20, 20, 1]];
    this.plane = new Plane();
    this.section = null;
    this.caps = new Group();
    this.rim = new Lines(this.size, colours.ink, 2);
    this.posts = new Lines(this.size, colours.warning, 1.4, { dashes: [1.2, 1.2] });
    this.hatch = new Lines(this.size, colours.warning, 1.6);
    this.brim = new Lines(this.size, colours.accent, 1.6, { dashes: [1.2, 1.2] });
    this.scene.add(this.caps, this.rim, this.posts, this.hatch, this.brim);
  }

  // Shows another surface, as Mesh.surface() gives it.
  show(surface) {
    this.surface = surface;
    const { corners, normals } = surface;
    const { geometry } = this.part;
    if (corners.length > (geometry.getAttribute("position")?.array.length ?? -1)) this.widen(1 + Math.ceil(corners.length / 7));
    fill(geometry.getAttribute("position"), corners);
    fill(geometry.getAttribute("normal"), normals);
    geometry.setDrawRange(0, corners.length / 3);
    this.part.visible = corners.length > 0;
    if (corners.length) this.bounds = bounds(corners);
    this.edges.lay(surface.lines);
  }

  // Makes room for more triangles: buffers that stay are filled sooner than new ones.
  widen(room) {
    const { geometry } = this.part;
    geometry.dispose();
    for (const name of ["position", "normal", "color"]) {
      geometry.setAttribute(name, new BufferAttribute(new Float32Array(9 * room), 3).setUsage(DynamicDrawUsage));
    }
  }

  // Takes away what lies beyond a plane square to x, y or z, and fills the cut faces with hatching:
  // {axis, at, over}, `over` for the other side; null for the whole part.
  cut(section) {
    this.section = section;
    this.clear(this.caps);
    const planes = section ? [this.plane] : [];
    this.renderer.localClippingEnabled = Boolean(section);
    for (const drawn of [this.part, this.edges, this.chosen, this.hidden]) {
      drawn.material.clippingPlanes = planes;
      drawn.material.clipping = true;
      drawn.material.needsUpdate = true;
    }
    this.rim.lay(section ? this.crossing(section) : new Float32Array(0));
    this.cutOff = null;
    if (!section || !this.surface) return;
    const way = [0, 0, 0];
    way[section.axis] = section.over ? 1 : -1;
    this.plane.set(new Vector3(...way), -way[section.axis] * section.at);
    this.cutOff = (place) => way[section.axis] * (place[section.axis] - section.at) < -1e-4;
    // Where more surfaces are seen from behind than from before, the plane lies within the part.
    for (const [side, operation] of [[BackSide, IncrementWrapStencilOp], [FrontSide, DecrementWrapStencilOp]]) {
      const material = this.lasting(operation, () => ({
        side, colorWrite: false, depthWrite: false, depthTest: false, clippingPlanes: planes,
        stencilWrite: true, stencilFunc: AlwaysStencilFunc,
        stencilFail: operation, stencilZFail: operation, stencilZPass: operation,
      }));
      const counted = new Body(this.part.geometry, material);
      counted.frustumCulled = false;
      counted.renderOrder = 0.1;
      counted.userData.shared = true;
      this.caps.add(counted);
    }
    const [low, high] = this.bounds;
    const size = 1.2 * Math.hypot(...low.map((value, i) => high[i] - value));
    const material = this.lasting("cap", () => ({
      map: this.hatching(), side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
      stencilWrite: true, stencilRef: 0, stencilFunc: NotEqualStencilFunc,
      stencilFail: ReplaceStencilOp, stencilZFail: ReplaceStencilOp, stencilZPass: ReplaceStencilOp,
    }));
    const count = Math.max(8, Math.round(size / Math.max(1.2, size / 60)));
    material.map.repeat.set(count, count);
    const cap = new Body(new PlaneGeometry(size, size), material);
    cap.position.set(...low.map((value, i) => (i === section.axis ? section.at : (value + high[i]) / 2)));
    if (section.axis === 0) cap.rotation.y = Math.PI / 2;
    if (section.axis === 1) cap.rotation.x = Math.PI / 2;
    cap.renderOrder = 0.2;
    cap.onAfterRender = (renderer) => renderer.clearStencil();
    this.caps.add(cap);
  }

  // The hatching of a cut face: thin lines at 45 degrees.
  hatching() {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 64;
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#f3e3c8";
    pen.fillRect(0, 0, 64, 64);
    pen.strokeStyle = this.colours.ink;
    pen.lineWidth = 5;
    for (const shift of [-64, 0, 64]) {
      pen.beginPath();
      pen.moveTo(shift - 8, 72);
      pen.lineTo(shift + 72, -8);
      pen.stroke();
    }
    const map = new CanvasTexture(canvas);
    map.colorSpace = SRGBColorSpace;
    map.wrapS = map.wrapT = RepeatWrapping;
    map.anisotropy = 4;
    return map;
  }

  // Where the surface crosses the plane of a section, as ends of lines.
  crossing({ axis, at }) {
    const { corners, owners } = this.surface ?? { corners: [], owners: [] };
    const lines = [];
    for (let i = 0; i < owners.length; i++) {
      const found = [];
      for (let k = 0; k < 3; k++) {
        const a = 9 * i + 3 * k, b = 9 * i + 3 * ((k + 1) % 3);
        const [p, q] = [corners[a + axis] - at, corners[b + axis] - at];
        if (p < 0 === q < 0) continue;
        const t = p / (p - q);
        for (let j = 0; j < 3; j++) found.push(corners[a + j] + (corners[b + j] - corners[a + j]) * t);
      }
      if (found.length === 6) lines.push(...found);
    }
    return new Float32Array(lines);
  }

  // What hangs on the bed: hatched faces with posts of support under them, and the brim.
  hang(flags, brim) {
    const { corners, owners } = this.surface ?? { corners: [], owners: [] };
    const hatch = [], posts = [];
    const down = (x, y, from) => {
      let floor = 0;
      for (let i = 0; i < owners.length; i++) {
        const c = corners.subarray(9 * i, 9 * i + 9);
        const z = level(c, x, y);
        if (z !== null && z < from - 0.05 && z > floor) floor = z;
      }
      return floor;
    };
    const stride = 2.4;
    for (let i = 0; flags && i < owners.length; i++) {
      if (!flags[i]) continue;
      const c = corners.subarray(9 * i, 9 * i + 9);
      const least = Math.floor(Math.min(c[0] + c[1], c[3] + c[4], c[6] + c[7]) / stride) * stride;
      const most = Math.max(c[0] + c[1], c[3] + c[4], c[6] + c[7]);
      for (let sum = least; sum <= most; sum += stride) {
        const ends = [];
        for (let k = 0; k < 3; k++) {
          const a = 3 * k, b = 3 * ((k + 1) % 3);
          const [p, q] = [c[a] + c[a + 1] - sum, c[b] + c[b + 1] - sum];
          if (p < 0 === q < 0) continue;
          const t = p / (p - q);
          ends.push([0, 1, 2].map((j) => c[a + j] + (c[b + j] - c[a + j]) * t));
        }
        if (ends.length !== 2) continue;
        hatch.push(...ends[0], ...ends[1]);
        const far = Math.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]);
        const count = Math.max(1, Math.round(far / (2 * stride)));
        for (let n = 0; n < count && posts.length < 2400; n++) {
          const p = ends[0].map((value, j) => value + ((ends[1][j] - value) * (n + 0.5)) / count);
          posts.push(...p, p[0], p[1], down(p[0], p[1], p[2]));
        }
      }
    }
    this.hatch.lay(new Float32Array(hatch));
    this.posts.lay(new Float32Array(posts));
    this.brim.lay(brim ?? new Float32Array(0));
  }

  // Colours the triangles: `paint` gives each its own (red, green, blue), else by their owners.
  colour({ chosen, pointed, apart, cuts, paint }) {
    const { surface } = this;
    if (!surface) return;
    const mixed = new Map();
    const of = (owner) => {
      if (!mixed.has(owner)) {
        const plain = !apart ? PART : cuts[owner] ? TAKEN : PIECES[owner % PIECES.length];
        const colour = new Color(plain);
        if (owner === chosen && !apart) colour.lerp(new Color(this.colours.accent), 0.38);
        if (owner === pointed) colour.lerp(new Color("#ffffff"), 0.35);
        mixed.set(owner, colour);
      }
      return mixed.get(owner);
    };
    const own = new Color();
    const buffer = this.part.geometry.getAttribute("color");
    const all = buffer.array;
    for (let i = 0, to = 0; i < surface.owners.length; i++) {
      let colour = of(surface.owners[i]);
      if (paint) colour = own.setRGB(paint[3 * i] / 255, paint[3 * i + 1] / 255, paint[3 * i + 2] / 255, "srgb");
      const { r, g, b } = colour;
      for (let j = 0; j < 3; j++) {
        all[to++] = r;
        all[to++] = g;
        all[to++] = b;
      }
    }
    sent(buffer, surface.corners.length);
  }

  // The chosen step's own body: its edges, seen through what hides them; a ghost if it is taken away.
  stand(body, ghost) {
    this.clear(this.ghosts);
    const lines = body ? body.lines : new Float32Array(0);
    this.chosen.lay(lines);
    this.hidden.visible = this.chosen.visible;
    const [low, high] = this.bounds;
    const size = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
    this.hidden.material.uniforms.dashes.value = [0.018 * size, 0.014 * size];
    if (body && ghost) this.ghosts.add(this.ghost(body, TAKEN, 0.3));
  }

  // Ghosts of what the part fits: flat plates and rings, as triangles.
  fit(bodies) {
    for (const corners of bodies) this.ghosts.add(this.ghost({ corners }, this.colours.warning, 0.28));
  }

  // Other parts beside it, as one ghost with its edges; null for none.
  beside(surface) {
    this.clear(this.others);
    this.around.lay(surface ? surface.lines : new Float32Array(0));
    this.outer = surface && bounds(surface.corners);
    if (surface) this.others.add(this.ghost(surface, BESIDE, 0.3));
  }

  // The bounds of all that is shown.
  get extent() {
    if (!this.outer) return this.bounds;
    const [[a, b], [c, d]] = [this.bounds, this.outer];
    return [a.map((value, i) => Math.min(value, c[i])), b.map((value, i) => Math.max(value, d[i]))];
  }

  ghost(surface, colour, opacity) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(surface.corners, 3));
    const material = this.lasting(colour, () => ({
      color: colour,
      opacity,
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    }));
    const drawn = new Body(geometry, material);
    drawn.frustumCulled = false;
    return drawn;
  }

  // A material that lasts, made once: a shader ends with its last material, and takes longer to make
  // anew than all that is drawn.
  lasting(name, settings) {
    const material = (this.materials[name] ??= new MeshBasicMaterial(settings()));
    material.userData.lasts = true;
    return material;
  }

  // The grid of the bed.
  lie({ low, high, level, pitch, strong }) {
    this.clear(this.bed);
    const ends = [[], []];
    for (const axis of [0, 1]) {
      for (let n = Math.round(low[axis] / pitch); n <= Math.round(high[axis] / pitch); n++) {
        const a = [low[0], low[1], level], b = [high[0], high[1], level];
        a[axis] = b[axis] = n * pitch;
        ends[n % strong ? 0 : 1].push(...a, ...b);
      }
    }
    for (const [i, colour] of [this.colours.grid, this.colours.rule].entries()) {
      const drawn = new Lines(this.size, colour, 1);
      drawn.lay(new Float32Array(ends[i]));
      this.bed.add(drawn);
    }
  }

  clear(group) {
    for (const child of [...group.children]) {
      if (!child.userData.shared) child.geometry.dispose();
      if (!child.material.userData.lasts) child.material.dispose();
      group.remove(child);
    }
  }

  resize(width, height, fine) {
    this.size.set(width, height);
    this.renderer.setPixelRatio(this.fast ? fine : 2 * fine);
    this.renderer.setSize(width, height, false);
  }

  // `resting` for a picture that is looked at, not one on the way to it.
  draw(turning, resting) {
    const { camera, renderer } = this;
    // A canvas that gets another size waits for all that was drawn: a quarter of it is drawn instead,
    // and shown in its whole size.
    const part = resting || this.fast ? 1 : 2;
    renderer.domElement.style.width = renderer.domElement.style.height = `${100 * part}%`;
    renderer.setViewport(0, 0, turning.width / part, turning.height / part);
    const [right, up, out] = turning.axes();
    // All that there is lies between the near and the far plane, however large it has grown.
    const [low, high] = this.extent;
    const reach = Math.hypot(...low.map((value, i) => Math.max(Math.abs(value - turning.centre[i]), Math.abs(high[i] - turning.centre[i])))) * 3 + 200;
    const eye = turning.centre.map((value, i) => value + out[i] * reach);
    camera.matrix.set(
      right[0], up[0], out[0], eye[0],
      right[1], up[1], out[1], eye[1],
      right[2], up[2], out[2], eye[2],
      0, 0, 0, 1,
    );
    camera.matrixWorldNeedsUpdate = true;
    camera.left = -turning.width / 2 / turning.scale;
    camera.right = -camera.left;
    camera.top = turning.height / 2 / turning.scale;
    camera.bottom = -camera.top;
    camera.near = 0;
    camera.far = 2 * reach;
    camera.updateProjectionMatrix();
    this.key.set(...out.map((value, i) => 0.8 * value - 0.42 * right[i] + 0.6 * up[i])).normalize();
    this.renderer.render(this.scene, camera);
  }

  // The triangle under a spot: {owner, triangle, place}, or null.
  under(x, y, turning) {
    const { surface } = this;
    if (!surface || !surface.owners.length) return null;
    const [right, up, out] = turning.axes();
    const dx = (x - turning.width / 2) / turning.scale, dy = (turning.height / 2 - y) / turning.scale;
    const from = turning.centre.map((value, i) => value + right[i] * dx + up[i] * dy);
    const c = surface.corners;
    let best = null, nearest = -Infinity;
    for (let i = 0; i < surface.owners.length; i++) {
      const n = [surface.flat[3 * i], surface.flat[3 * i + 1], surface.flat[3 * i + 2]];
      const slope = n[0] * out[0] + n[1] * out[1] + n[2] * out[2];
      if (slope < 1e-9) continue; // seen from behind
      const o = 9 * i;
      const away = ((c[o] - from[0]) * n[0] + (c[o + 1] - from[1]) * n[1] + (c[o + 2] - from[2]) * n[2]) / slope;
      if (away <= nearest) continue;
      const p = [from[0] + out[0] * away, from[1] + out[1] * away, from[2] + out[2] * away];
      if (this.cutOff && this.cutOff(p)) continue;
      if (!within(p, c, o, n)) continue;
      nearest = away;
      best = { owner: surface.owners[i], triangle: i, place: p };
    }
    return best;
  }

  close() {
    this.clear(this.bed);
    this.clear(this.ghosts);
    this.clear(this.others);
    this.clear(this.caps);
    for (const material of Object.values(this.materials)) {
      material.map?.dispose();
      material.dispose();
    }
    for (const drawn of [this.part, this.around, this.edges, this.chosen, this.hidden, this.rim, this.posts, this.hatch, this.brim]) {
      drawn.geometry.dispose();
      drawn.material.dispose();
    }
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }
}

// The least and the greatest x, y and z of corners.
function bounds(corners) {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < corners.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      const value = corners[i + k];
      if (value < low[k]) low[k] = value;
      if (value > high[k]) high[k] = value;
    }
  }
  return [low, high];
}

// Whether a graphics card draws, by what the browser says of it.
function withCard() {
  const drawn = document.createElement("canvas").getContext("webgl2", { failIfMajorPerformanceCaveat: true });
  const told = drawn?.getExtension("WEBGL_debug_renderer_info");
  const name = drawn?.getParameter(told ? told.UNMASKED_RENDERER_WEBGL : drawn.RENDERER) ?? "software";
  drawn?.getExtension("WEBGL_lose_context")?.loseContext();
  return !/software|swiftshader|llvmpipe|softpipe|basic render/i.test(name);
}

// How high a triangle lies over a place of the bed; null where it does not.
function level(c, x, y) {
  const d = (c[4] - c[7]) * (c[0] - c[6]) + (c[6] - c[3]) * (c[1] - c[7]);
  if (Math.abs(d) < 1e-12) return null;
  const a = ((c[4] - c[7]) * (x - c[6]) + (c[6] - c[3]) * (y - c[7])) / d;
  const b = ((c[7] - c[1]) * (x - c[6]) + (c[0] - c[6]) * (y - c[7])) / d;
  if (a < 0 || b < 0 || a + b > 1) return null;
  return a * c[2] + b * c[5] + (1 - a - b) * c[8];
}

// Whether a place in the plane of a triangle lies within it.
function within(p, c, o, n) {
  for (let i = 0; i < 3; i++) {
    const a = o + 3 * i, b = o + 3 * ((i + 1) % 3);
    const ux = c[b] - c[a], uy = c[b + 1] - c[a + 1], uz = c[b + 2] - c[a + 2];
    const vx = p[0] - c[a], vy = p[1] - c[a + 1], vz = p[2] - c[a + 2];
    const side = n[0] * (uy * vz - uz * vy) + n[1] * (uz * vx - ux * vz) + n[2] * (ux * vy - uy * vx);
    if (side < -1e-9) return false;
  }
  return true;
}
