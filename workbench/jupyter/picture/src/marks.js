// Dimension lines over the picture, in its plane: clear of the part and of each other.

import { dot } from "./turning.js";

const SVG = "http://www.w3.org/2000/svg";
const AXES = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
const SHORTEST = 16; // pixels; a length seen shorter than this stands in the list at the edge
const GAP = 26; // pixels from the part to the first line, and from line to line
const TALL = 22; // of a label
const NARROW = 420; // pixels; a picture less wide than this leaves out how sure a size is

export class Marks {
  // `pressed` is called with a size's label; `held` with a handle that is about to be dragged.
  constructor(el, pressed, held) {
    this.svg = document.createElementNS(SVG, "svg");
    this.svg.setAttribute("class", "wb-marks");
    this.svg.setAttribute("aria-hidden", "true");
    this.labels = document.createElement("div");
    this.labels.className = "wb-labels";
    this.words = document.createElement("div");
    this.words.className = "wb-labels wb-grid-words";
    this.words.setAttribute("aria-hidden", "true");
    this.unseen = document.createElement("div");
    this.unseen.className = "wb-unseen-sizes";
    this.reading = document.createElement("span");
    this.reading.className = "wb-size wb-reading-here";
    this.labels.append(this.reading);
    el.append(this.svg, this.words, this.labels, this.unseen);
    this.pressed = pressed;
    this.held = held;
    this.sizes = [];
    this.numbers = [];
    this.spots = [];
  }

  // Other sizes: {kind, text, label, step, field, ...} with their points in mm. What stands for one that
  // was there before, as while a hand changes it, stays.
  tell(sizes) {
    const active = document.activeElement;
    const focused = this.labels.contains(active) || this.unseen.contains(active) ? active.dataset.key : null;
    const alike = sizes.length === this.sizes.length && sizes.every((size, i) => sort(size) === sort(this.sizes[i]));
    if (!alike) {
      for (const { button, handle } of this.sizes) {
        button.remove();
        handle?.remove();
      }
      this.sizes = sizes.map((size) => this.mark(size));
    }
    sizes.forEach((size, i) => {
      const { button } = Object.assign(this.sizes[i], size);
      if (size.field) {
        button.title = size.label;
        button.setAttribute("aria-label", `${size.label}: ${size.text}`);
      }
      if (focused && focused === button.dataset.key && button !== document.activeElement) setTimeout(() => button.focus());
    });
  }

  // What stands for one size: its label, and a handle where it can be dragged.
  mark({ step, field, text, drag }) {
    const mark = { button: document.createElement(field ? "button" : "span"), handle: null };
    mark.button.className = "wb-size";
    mark.button.textContent = text;
    mark.button.dataset.key = `${step}.${field}`;
    if (field) {
      mark.button.type = "button";
      mark.button.addEventListener("click", () => this.pressed(mark));
    }
    if (drag) {
      mark.handle = document.createElement("span");
      mark.handle.className = "wb-handle";
      mark.handle.setAttribute("aria-hidden", "true");
      mark.handle.addEventListener("pointerdown", (event) => this.held(mark, event, mark.handle));
      this.labels.append(mark.handle);
    }
    this.labels.append(mark.button);
    return mark;
  }

  // The numbers along the bed: {text, at}.
  number(numbers) {
    this.words.replaceChildren();
    this.numbers = numbers.map(({ text, at }) => {
      const span = document.createElement("span");
      span.textContent = text;
      this.words.append(span);
      return { span, at, wide: 4 * text.length + 3 };
    });
  }

  draw(turning, bounds, shown, places, measuring) {
    const hull = outline(corners(bounds).map((place) => turning.spot(place)));
    this.svg.setAttribute("viewBox", `0 0 ${turning.width} ${turning.height}`);
    const paths = [];
    const taken = [];
    const said = ({ text }) => (turning.width < NARROW ? text.split(" ±")[0] : text);
    const unseen = this.sizes.filter((size) => size.field && seenLength(size, turning) < SHORTEST / 2);
    if (shown) taken.push(...edgeList(unseen.map((size) => `${size.name} ${said(size)}`)));
    for (const size of this.sizes) {
      const { button, handle } = size;
      const text = said(size);
      const laid = shown ? lay({ ...size, text }, turning, bounds, hull, taken) : null;
      const at = laid?.label;
      const home = shown && !at && size.field ? this.unseen : this.labels;
      if (button.parentNode !== home && handle && home === this.labels) handle.after(button);
      else if (button.parentNode !== home) home.append(button);
      button.hidden = !shown || (!at && home === this.labels);
      const whole = button.parentNode === this.unseen ? `${size.name} ${text}` : text;
      if (button.textContent !== whole) button.textContent = whole;
      button.style.transform = at ? `translate(${at[0]}px, ${at[1]}px) translate(-50%, -50%)` : "";
      if (handle) {
        handle.hidden = !laid?.handle;
        if (laid?.handle) handle.style.transform = `translate(${laid.handle[0]}px, ${laid.handle[1]}px) translate(-50%, -50%)`;
      }
      if (laid) paths.push(laid.lines);
    }
    for (const { span, at, wide } of this.numbers) {
      const [there, y] = turning.spot(at);
      const low = Math.abs(turning.elevation) < 12 ? 12 : 0;
      // One near the edge is moved in, so that it can be read whole; one beyond it is left out.
      const x = Math.max(wide, Math.min(turning.width - wide, there));
      span.style.transform = `translate(${x}px, ${y + low}px) translate(-50%, -50%)`;
      const box = [x - wide, y + low - 8, x + wide, y + low + 8];
      span.hidden = Math.abs(there - x) > wide || box[3] > turning.height || outside(hull, [x, y + low]) < 4 || turning.elevation < -5 || crowd(box, taken, turning) >= 200;
      if (!span.hidden) taken.push(box);
    }
    for (const place of places) {
      const [x, y] = turning.spot(place);
      paths.push(`<circle cx="${n(x)}" cy="${n(y)}" r="9" class="wb-island"/>`, `<circle cx="${n(x)}" cy="${n(y)}" r="3" class="wb-island-dot"/>`);
    }
    for (const { at, kind } of measuring?.picked ?? []) {
      const [x, y] = turning.spot(at);
      paths.push(kind === "edge" || kind === "corner" ? `<rect x="${n(x - 5)}" y="${n(y - 5)}" width="10" height="10" class="wb-picked"/>` : `<circle cx="${n(x)}" cy="${n(y)}" r="6" class="wb-picked"/>`);
    }
    const reading = measuring?.reading;
    this.reading.hidden = !reading;
    if (reading) {
      const p = turning.spot(reading.from), q = turning.spot(reading.to);
      paths.push(stroke([p, q], "wb-dimension wb-read-line"), ball(p), ball(q));
      this.reading.textContent = reading.text;
      this.reading.style.transform = `translate(${(p[0] + q[0]) / 2}px, ${(p[1] + q[1]) / 2}px) translate(-50%, -50%)`;
    }
    this.svg.innerHTML = paths.join("");
  }
}

// What a size's label is made for.
const sort = ({ kind, step, field, drag }) => `${kind} ${step}.${field} ${Boolean(drag)}`;

// Where one size stands on the picture: its lines as SVG, its label, and its handle.
function lay(size, turning, bounds, hull, taken) {
  const wide = 7.4 * size.text.length + 14;
  if (size.kind === "length") return length(size, turning, bounds, hull, taken, wide);
  const spots = size.kind === "circle" ? rim(size, turning) : size.edge.map((place) => turning.spot(place));
  const middle = turning.spot(mean(bounds));
  let best = null;
  for (const spot of spots) {
    for (let turn = 0; turn < 24; turn++) {
      const way = [Math.cos((turn * Math.PI) / 12), Math.sin((turn * Math.PI) / 12)];
      for (const far of [34, 60, 90, 130]) {
        const at = [spot[0] + way[0] * (far + wide / 3), spot[1] + way[1] * far];
        const box = frame(at, wide);
        const clear = Math.min(outside(hull, at) - 12, 20);
        const score = clear * 2 - far * 0.35 - crowd(box, taken, turning) + dot2(way, away(spot, middle)) * 6;
        if (!best || score > best.score) best = { score, at, spot, box };
      }
    }
  }
  taken.push(best.box);
  return { lines: stroke([best.spot, best.at], "wb-leader") + ball(best.spot), label: best.at };
}

function rim({ centre, axis, radius }, turning) {
  const side = Math.abs(axis[2]) < 0.9 ? cross(axis, [0, 0, 1]) : cross(axis, [1, 0, 0]);
  const one = unit(side), two = cross(axis, one);
  return Array.from({ length: 12 }, (_none, i) => {
    const a = (i * Math.PI) / 6;
    return turning.spot(centre.map((value, k) => value + radius * (Math.cos(a) * one[k] + Math.sin(a) * two[k])));
  });
}

// How long a size is on the screen, in pixels; what is no length is always seen.
function seenLength({ kind, axis, start, end }, turning) {
  if (kind !== "length") return Infinity;
  const [right, up] = turning.axes();
  return turning.scale * Math.hypot(dot(axis, right), dot(axis, up)) * Math.abs(dot(end[0], axis) - dot(start[0], axis));
}

// Where the sizes of the list at the edge stand, which the others keep clear of.
function edgeList(texts) {
  return texts.map((text, i) => [0, 24 * i, 7 * text.length + 33, 24 * i + 32]);
}

function length(size, turning, bounds, hull, taken, wide) {
  const { axis, start, end } = size;
  const [right, up] = turning.axes();
  const seen = seenLength(size, turning);
  if (seen < SHORTEST / 2) return null;
  const all = corners(bounds);
  const ways = AXES.flatMap((way) => {
    const square = way.map((value, i) => value - axis[i] * dot(way, axis));
    if (Math.hypot(...square) < 0.5) return [];
    return [unit(square), unit(square).map((value) => -value)];
  });
  const from = dot(start[0], axis), to = dot(end[0], axis);
  let best = null;
  for (const way of ways) {
    const flat = [dot(way, right), -dot(way, up)];
    const broad = Math.hypot(...flat);
    if (broad < 0.2) continue;
    const rim = Math.max(...all.map((place) => dot(place, way)));
    const third = cross(axis, way);
    for (let tier = 0; tier < 4; tier++) {
      const level = rim + (GAP * (tier + 1) - 4) / (turning.scale * broad);
      for (const sign of [1, -1]) {
        const a = farthest(start, way, third, sign), b = farthest(end, way, third, sign);
        const depth = sign > 0 ? Math.max(dot(a, third), dot(b, third)) : Math.min(dot(a, third), dot(b, third));
        const put = (along) => turning.spot(axis.map((value, i) => value * along + way[i] * level + third[i] * depth));
        const p = put(from), q = put(to);
        const pa = turning.spot(a), qb = turning.spot(b);
        const middle = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
        const short = seen < wide + 14 && Math.abs(q[1] - p[1]) < TALL + 8;
        const along = unit2([q[0] - p[0], q[1] - p[1]]);
        const grip = seen > 30 ? [[q[0] - 8, q[1] - 8, q[0] + 8, q[1] + 8]] : [];
        const out = unit2(flat);
        const aside = (more) => [middle[0] + out[0] * (wide / 2 + 4 + more), middle[1] + out[1] * (17 + more)];
        const free = (spot) => !grip.some((one) => meet(frame(spot, wide), one) > 0);
        const at = !short ? middle : free(aside(0)) ? aside(0) : aside(16); // not on its own handle
        const clear = Math.min(outside(hull, middle), outside(hull, p), outside(hull, q), 16);
        const lead = Math.hypot(p[0] - pa[0], p[1] - pa[1]) + Math.hypot(q[0] - qb[0], q[1] - qb[1]);
        const box = frame(at, wide);
        const covered = Math.min(...[0, 2].flatMap((i) => [1, 3].map((k) => outside(hull, [box[i], box[k]]))), 0);
        const crowded = [box, ...grip].reduce((sum, one) => sum + crowd(one, taken, turning), 0);
        const score = clear * 4 + covered * 1.5 - lead * 0.25 - tier * 5 - crowded - outOf(p, turning) - outOf(q, turning);
        if (!best || score > best.score) best = { score, p, q, pa, qb, at, along, boxes: [box, ...grip] };
      }
    }
  }
  if (!best) return null;
  taken.push(...best.boxes);
  const { p, q, pa, qb, along } = best;
  const tick = [(along[0] - along[1]) * 4.5, (along[1] + along[0]) * 4.5];
  const lines =
    stroke([beyond(pa, p, -4), beyond(pa, p, 6)], "wb-witness") +
    stroke([beyond(qb, q, -4), beyond(qb, q, 6)], "wb-witness") +
    stroke([p, q], "wb-dimension") +
    [p, q].map((s) => stroke([[s[0] - tick[0], s[1] - tick[1]], [s[0] + tick[0], s[1] + tick[1]]], "wb-tick")).join("");
  return { lines, label: best.at, handle: seen > 30 ? q : null };
}

// The point of a group farthest out along a way, then along the third.
function farthest(points, way, third, sign) {
  let best = points[0], most = -Infinity;
  for (const point of points) {
    const score = dot(point, way) + 1e-3 * sign * dot(point, third);
    if (score > most) [best, most] = [point, score];
  }
  return best;
}

// From a point of the part to its dimension line: begun a little off the part, run a little past.
function beyond(from, to, more) {
  const far = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const way = [(to[0] - from[0]) / far, (to[1] - from[1]) / far];
  return more < 0
    ? [from[0] - way[0] * Math.max(more, -far), from[1] - way[1] * Math.max(more, -far)]
    : [to[0] + way[0] * more, to[1] + way[1] * more];
}

function crowd(box, taken, turning) {
  let cost = 0;
  for (const other of taken) {
    const across = meet(box, other);
    if (across > 0) cost += 200 + across;
  }
  const over = Math.max(-box[0], -box[1], box[2] - turning.width, box[3] - turning.height, 0);
  return cost + (over > 0 ? 120 + over * 3 : 0);
}

// How far two boxes overlap from left to right; 0 where they are clear of each other.
function meet(one, other) {
  const x = Math.min(one[2], other[2]) - Math.max(one[0], other[0]);
  const y = Math.min(one[3], other[3]) - Math.max(one[1], other[1]);
  return y > 0 ? Math.max(x, 0) : 0;
}

function outOf([x, y], turning) {
  return Math.max(-x, -y, x - turning.width, y - turning.height, 0) * 2;
}

const frame = ([x, y], wide) => [x - wide / 2, y - TALL / 2, x + wide / 2, y + TALL / 2];
const n = (value) => value.toFixed(1);
const stroke = ([a, b], kind) => `<line x1="${n(a[0])}" y1="${n(a[1])}" x2="${n(b[0])}" y2="${n(b[1])}" class="${kind}"/>`;
const ball = ([x, y]) => `<circle cx="${n(x)}" cy="${n(y)}" r="3" class="wb-foot"/>`;
const dot2 = (a, b) => a[0] * b[0] + a[1] * b[1];
const unit2 = (a) => { const s = Math.hypot(...a) || 1; return [a[0] / s, a[1] / s]; };
const unit = (a) => { const s = Math.hypot(...a) || 1; return a.map((value) => value / s); };
const away = (a, b) => unit2([a[0] - b[0], a[1] - b[1]]);
const mean = ([low, high]) => low.map((value, i) => (value + high[i]) / 2);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

export const corners = ([low, high]) =>
  [0, 1, 2, 3, 4, 5, 6, 7].map((i) => [i & 1 ? high[0] : low[0], i & 2 ? high[1] : low[1], i & 4 ? high[2] : low[2]]);

// The convex outline of spots, one way round.
export function outline(spots) {
  const sorted = spots.map(([x, y]) => [x, y]).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list) => {
    const chain = [];
    for (const p of list) {
      while (chain.length > 1 && turn(chain.at(-2), chain.at(-1), p) <= 0) chain.pop();
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

const turn = (a, b, c) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

// How far a spot lies outside a convex outline, in pixels; negative inside.
export function outside(hull, spot) {
  let most = -Infinity;
  for (let i = 0, a = hull.at(-1); i < hull.length; a = hull[i++]) {
    const b = hull[i], x = b[0] - a[0], y = b[1] - a[1];
    const far = Math.sqrt(x * x + y * y);
    if (far > 1e-6) most = Math.max(most, (y * (spot[0] - a[0]) - x * (spot[1] - a[1])) / far);
  }
  return most;
}
