// What three.js draws: the part, its edges, the bed, ghosts; on demand, never by itself.

import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  GreaterDepth,
  Group,
  HemisphereLight,
  LessEqualDepth,
  Mesh as Body,
  MeshBasicMaterial,
  MeshLambertMaterial,
  OrthographicCamera,
  Scene,
  WebGLRenderer,
} from "three";
import { LineMaterial } from "three/examples/jsm/lines/LineMaterial.js";
import { LineSegments2 } from "three/examples/jsm/lines/LineSegments2.js";
import { LineSegmentsGeometry } from "three/examples/jsm/lines/LineSegmentsGeometry.js";

// Of the part, of the steps one by one where they are told apart, and of what is taken away.
const PART = "#a8c2be";
const PIECES = ["#a9c4c1", "#d9cdb0", "#b9c3d6", "#cfb9b0", "#c3cfae", "#c9bdd0"];
const TAKEN = "#e8b7a8";

export class Stage {
  constructor(canvas, colours) {
    this.colours = colours;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, stencil: true, alpha: false });
    this.renderer.setClearColor(colours.paper);
    this.scene = new Scene();
    this.camera = new OrthographicCamera();
    this.camera.matrixAutoUpdate = false;
    // Lights that move with the eye: over its left shoulder, and from the paper below.
    this.key = new DirectionalLight("#ffffff", 1.6);
    const sky = new HemisphereLight("#ffffff", "#eee8da", 1.95);
    sky.position.set(0, 0, 1);
    this.scene.add(sky, this.key, this.key.target);
    this.material = new MeshLambertMaterial({
      vertexColors: true,
      polygonOffset: true,
      polygonOffsetFactor: 1.5,
      polygonOffsetUnits: 2,
    });
    this.part = new Body(new BufferGeometry(), this.material);
    this.part.frustumCulled = false;
    this.bed = new Group();
    this.ghosts = new Group();
    this.edges = this.lines(colours.ink, 1.3);
    this.chosen = this.lines(colours.accent, 2.8);
    this.hidden = this.lines(colours.accent, 1.6, { dashed: true, depthFunc: GreaterDepth });
    this.scene.add(this.part, this.bed, this.ghosts, this.edges, this.chosen, this.hidden);
    [this.edges, this.chosen, this.hidden].forEach((drawn, i) => (drawn.renderOrder = i + 1));
    this.bounds = [[-20, -20, 0], [20, 20, 1]];
  }

  lines(colour, width, more = {}) {
    const { dashed = false, depthFunc = LessEqualDepth, opacity = 1 } = more;
    const material = new LineMaterial({
      color: colour,
      linewidth: width,
      dashed,
      dashSize: 1,
      gapSize: 0.8,
      opacity,
      transparent: opacity < 1,
      depthFunc,
      depthWrite: false,
      // What is seen through the part is no line that lies on its surface.
      polygonOffset: depthFunc === GreaterDepth,
      polygonOffsetUnits: -400,
    });
    const drawn = new LineSegments2(new LineSegmentsGeometry(), material);
    drawn.frustumCulled = false;
    drawn.visible = false;
    return drawn;
  }

  // Gives lines other ends, a Float32Array of six numbers each.
  lay(drawn, ends) {
    drawn.geometry.dispose();
    drawn.geometry = new LineSegmentsGeometry();
    drawn.visible = ends.length > 0;
    if (!ends.length) return;
    drawn.geometry.setPositions(ends);
    if (drawn.material.dashed) drawn.computeLineDistances();
  }

  // Shows another surface, as Mesh.surface() gives it.
  show(surface) {
    this.surface = surface;
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(surface.corners, 3));
    geometry.setAttribute("normal", new BufferAttribute(surface.normals, 3));
    geometry.setAttribute("color", new BufferAttribute(new Float32Array(surface.corners.length), 3));
    geometry.computeBoundingSphere();
    this.part.geometry.dispose();
    this.part.geometry = geometry;
    this.part.visible = surface.owners.length > 0;
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < surface.corners.length; i++) {
      low[i % 3] = Math.min(low[i % 3], surface.corners[i]);
      high[i % 3] = Math.max(high[i % 3], surface.corners[i]);
    }
    if (surface.corners.length) this.bounds = [low, high];
    this.lay(this.edges, surface.lines);
  }

  // Colours the triangles: `paint` gives each its own (red, green, blue), else by their owners.
  colour({ chosen, pointed, apart, cuts, paint }) {
    const { surface } = this;
    if (!surface) return;
    const colours = this.part.geometry.getAttribute("color");
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
    for (let i = 0; i < surface.owners.length; i++) {
      let colour = of(surface.owners[i]);
      if (paint) colour = own.setRGB(paint[3 * i] / 255, paint[3 * i + 1] / 255, paint[3 * i + 2] / 255, "srgb");
      for (let j = 0; j < 3; j++) colours.setXYZ(3 * i + j, colour.r, colour.g, colour.b);
    }
    colours.needsUpdate = true;
  }

  // The chosen step's own body: its edges, seen through what hides them; a ghost if it is taken away.
  stand(body, ghost) {
    this.clear(this.ghosts);
    const lines = body ? body.lines : new Float32Array(0);
    this.lay(this.chosen, lines);
    this.lay(this.hidden, lines);
    const [low, high] = this.bounds;
    const size = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
    this.hidden.material.dashSize = 0.018 * size;
    this.hidden.material.gapSize = 0.014 * size;
    if (body && ghost) this.ghosts.add(this.ghost(body, TAKEN, 0.3));
  }

  ghost(surface, colour, opacity) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(surface.corners, 3));
    const material = new MeshBasicMaterial({
      color: colour,
      opacity,
      transparent: true,
      depthWrite: false,
      side: DoubleSide,
    });
    const drawn = new Body(geometry, material);
    drawn.frustumCulled = false;
    return drawn;
  }

  // Lines of the bed: fine and strong, Float32Arrays of six numbers each.
  lie(fine, strong) {
    this.clear(this.bed);
    for (const [ends, colour] of [[fine, this.colours.grid], [strong, this.colours.rule]]) {
      const drawn = this.lines(colour, 1);
      this.lay(drawn, ends);
      this.bed.add(drawn);
    }
  }

  clear(group) {
    for (const child of [...group.children]) {
      child.geometry.dispose();
      child.material.dispose();
      group.remove(child);
    }
  }

  resize(width, height, fine) {
    this.renderer.setPixelRatio(fine);
    this.renderer.setSize(width, height, false);
  }

  draw(turning) {
    const { camera } = this;
    const [right, up, out] = turning.axes();
    // All that there is lies between the near and the far plane, however large it has grown.
    const [low, high] = this.bounds;
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
    const light = turning.centre.map((value, i) => value + reach * (0.8 * out[i] - 0.42 * right[i] + 0.6 * up[i]));
    this.key.position.set(...light);
    this.key.target.position.set(...turning.centre);
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
    for (const drawn of [this.part, this.edges, this.chosen, this.hidden]) {
      drawn.geometry.dispose();
      drawn.material.dispose();
    }
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }
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
