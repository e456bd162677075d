// Lines as wide as a pen's, for three.js's own material for such lines.
//
// Its geometry draws one strip as often as there are lines. A browser that draws without a graphics
// card begins anew for each of them; here they are one body.

import { BufferGeometry, Float32BufferAttribute, Mesh as Body, Uint32BufferAttribute } from "three";
import { LineMaterial } from "three/examples/jsm/lines/LineMaterial.js";

// The strip: to the left or the right of the line, before its start, along it, beyond its end. The
// rounding of the ends goes by the second pair.
const STRIP = [[-1, 2], [1, 2], [-1, 1], [1, 1], [-1, 0], [1, 0], [-1, -1], [1, -1]];
const ROUND = [[-1, 2], [1, 2], [-1, 1], [1, 1], [-1, -1], [1, -1], [-1, -2], [1, -2]];
const CORNERS = [0, 2, 1, 2, 3, 1, 2, 4, 3, 4, 5, 3, 4, 6, 5, 6, 7, 5];

export class Lines extends Body {
  constructor(how) {
    super(new BufferGeometry(), new LineMaterial(how));
    this.frustumCulled = false;
    this.visible = false;
  }

  // Gives them other ends, a Float32Array of six numbers each.
  lay(ends) {
    this.geometry.dispose();
    this.geometry = new BufferGeometry();
    this.visible = ends.length > 0;
    if (!ends.length) return;
    const count = ends.length / 6, all = 8 * count;
    const place = new Float32Array(3 * all), round = new Float32Array(2 * all);
    const start = new Float32Array(3 * all), end = new Float32Array(3 * all);
    const from = new Float32Array(all), to = new Float32Array(all);
    const corners = new Uint32Array(18 * count);
    let far = 0;
    for (let i = 0; i < count; i++) {
      const p = ends.subarray(6 * i, 6 * i + 3), q = ends.subarray(6 * i + 3, 6 * i + 6);
      const along = far + Math.hypot(q[0] - p[0], q[1] - p[1], q[2] - p[2]);
      for (let k = 0, at = 8 * i; k < 8; k++, at++) {
        place.set(STRIP[k], 3 * at);
        round.set(ROUND[k], 2 * at);
        start.set(p, 3 * at);
        end.set(q, 3 * at);
        from[at] = far;
        to[at] = along;
      }
      for (let k = 0; k < 18; k++) corners[18 * i + k] = 8 * i + CORNERS[k];
      far = along;
    }
    const { geometry } = this;
    geometry.setIndex(new Uint32BufferAttribute(corners, 1));
    const given = { position: [place, 3], uv: [round, 2], instanceStart: [start, 3], instanceEnd: [end, 3] };
    if (this.material.dashed) Object.assign(given, { instanceDistanceStart: [from, 1], instanceDistanceEnd: [to, 1] });
    for (const [name, [values, size]] of Object.entries(given)) geometry.setAttribute(name, new Float32BufferAttribute(values, size));
  }

  onBeforeRender(renderer) {
    renderer.getSize(this.material.resolution);
  }
}
