// Where the eye is: a parallel view of a place, turned about it; everything that moves it.

const DEGREE = Math.PI / 180;

// Azimuth and elevation of the eye in degrees, x to the right, y to the back, z up.
export const VIEWS = {
  corner: [-118, 26],
  front: [-90, 0],
  right: [0, 0],
  back: [90, 0],
  left: [180, 0],
  top: [-90, 90],
  bottom: [-90, -90],
};

const LASTS = 350; // ms that a turn takes

export class Turning {
  azimuth = VIEWS.corner[0];
  elevation = VIEWS.corner[1];
  centre = [0, 0, 0];
  scale = 8; // pixels for a mm
  width = 1;
  height = 1;
  view = "corner";
  moving = 0;
  going = false; // whether a turn is on its way
  byHand = false; // whether the part was moved or brought nearer since all of it was shown

  // `draw` is called whenever the eye has moved.
  constructor(draw) {
    this.draw = draw;
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
  }

  // Unit vectors to the right, up, and out to the eye.
  axes() {
    const a = this.azimuth * DEGREE, e = this.elevation * DEGREE;
    const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
    return [
      [-sa, ca, 0],
      [-se * ca, -se * sa, ce],
      [ce * ca, ce * sa, se],
    ];
  }

  // Where a place is on the picture: pixels right and down, and mm towards the eye.
  spot(place) {
    const [right, up, out] = this.axes();
    const d = [place[0] - this.centre[0], place[1] - this.centre[1], place[2] - this.centre[2]];
    return [
      this.width / 2 + this.scale * dot(d, right),
      this.height / 2 - this.scale * dot(d, up),
      dot(d, out),
    ];
  }

  // The centre and scale at which a box lies in the frame, with so many pixels left on each side.
  fitted(low, high, room, azimuth = this.azimuth, elevation = this.elevation) {
    const kept = [this.azimuth, this.elevation];
    [this.azimuth, this.elevation] = [azimuth, elevation];
    const [right, up] = this.axes();
    [this.azimuth, this.elevation] = kept;
    const middle = low.map((value, i) => (value + high[i]) / 2);
    const reach = (way) => way.reduce((sum, part, i) => sum + Math.abs(part) * (high[i] - low[i]), 0);
    const wide = Math.max(this.width - 2 * room, this.width / 3);
    const tall = Math.max(this.height - 2 * room, this.height / 3);
    const scale = Math.min(wide / Math.max(reach(right), 1), tall / Math.max(reach(up), 1));
    return { centre: middle, scale: Math.min(scale, 60) };
  }

  // Turns to a view and shows all of a box, smoothly.
  look(view, low, high, room) {
    this.view = view;
    const [azimuth, elevation] = VIEWS[view];
    this.go({ azimuth, elevation, ...this.fitted(low, high, room, azimuth, elevation) });
  }

  go(to) {
    this.stop();
    const from = { azimuth: this.azimuth, elevation: this.elevation, centre: this.centre, scale: this.scale };
    const end = { ...from, ...to };
    const about = ((((end.azimuth - from.azimuth) % 360) + 540) % 360) - 180;
    const set = (t) => {
      this.azimuth = from.azimuth + about * t;
      this.elevation = from.elevation + (end.elevation - from.elevation) * t;
      this.centre = from.centre.map((value, i) => value + (end.centre[i] - value) * t);
      this.scale = from.scale * (end.scale / from.scale) ** t;
      this.draw();
    };
    if (this.calm.matches || !this.begun) {
      this.begun = true;
      set(1);
      return;
    }
    this.going = true;
    this.draw();
    const start = performance.now();
    const step = (now) => {
      const t = Math.min(1, Math.max(0, (now - start) / LASTS));
      this.going = t < 1;
      set(t < 0.5 ? 2 * t * t : 1 - 2 * (1 - t) ** 2);
      if (this.going) this.moving = requestAnimationFrame(step);
    };
    this.moving = requestAnimationFrame(step);
  }

  stop() {
    this.going = false;
    cancelAnimationFrame(this.moving);
  }

  turn(right, up) {
    this.stop();
    this.view = "";
    this.azimuth -= right;
    this.elevation = Math.max(-90, Math.min(90, this.elevation + up));
    this.draw();
  }

  // Moves the part by pixels.
  shift(x, y) {
    this.stop();
    this.byHand = true;
    const [right, up] = this.axes();
    this.centre = this.centre.map((value, i) => value - (right[i] * x - up[i] * y) / this.scale);
    this.draw();
  }

  // Brings the part nearer; what lies under a spot stays under it.
  zoom(factor, x = this.width / 2, y = this.height / 2) {
    this.stop();
    this.byHand = true;
    const next = Math.max(0.2, Math.min(400, this.scale * factor));
    const [right, up] = this.axes();
    const dx = x - this.width / 2, dy = this.height / 2 - y;
    const gain = 1 / this.scale - 1 / next;
    this.centre = this.centre.map((value, i) => value + (right[i] * dx + up[i] * dy) * gain);
    this.scale = next;
    this.draw();
  }

  // Listens to pointer, wheel and touch on an element; `tapped` is called with a spot.
  listen(el, tapped) {
    this.tap = tapped;
    const down = new Map();
    let travelled = 0;
    let spread = 0;
    el.addEventListener("pointerdown", (event) => {
      if (event.target.closest("button, .wb-handle")) return;
      el.setPointerCapture(event.pointerId);
      down.set(event.pointerId, [event.clientX, event.clientY]);
      if (down.size === 1) travelled = 0;
      spread = 0;
    });
    el.addEventListener("pointermove", (event) => {
      const last = down.get(event.pointerId);
      if (!last) return;
      const x = event.clientX - last[0], y = event.clientY - last[1];
      down.set(event.pointerId, [event.clientX, event.clientY]);
      travelled += Math.abs(x) + Math.abs(y);
      if (down.size === 2) {
        const [a, b] = [...down.values()];
        const now = Math.hypot(a[0] - b[0], a[1] - b[1]);
        const frame = el.getBoundingClientRect();
        this.shift(x / 2, y / 2);
        if (spread) this.zoom(now / spread, (a[0] + b[0]) / 2 - frame.x, (a[1] + b[1]) / 2 - frame.y);
        spread = now;
      } else if (travelled > 3) {
        if (event.buttons & 6 || event.shiftKey) this.shift(x, y);
        else this.turn(x * 0.5, y * 0.5);
      }
    });
    const up = (event) => {
      if (!down.delete(event.pointerId)) return;
      const frame = el.getBoundingClientRect();
      if (event.type === "pointerup" && travelled <= 3 && event.button === 0) {
        tapped(event.clientX - frame.x, event.clientY - frame.y);
      }
    };
    el.addEventListener("pointerup", up);
    el.addEventListener("pointercancel", up);
    el.addEventListener("contextmenu", (event) => event.preventDefault());
    el.addEventListener(
      "wheel",
      (event) => {
        // The page scrolls as ever until the picture has been clicked or holds the keyboard.
        if (!event.ctrlKey && !el.contains(document.activeElement)) return;
        event.preventDefault();
        const frame = el.getBoundingClientRect();
        const by = Math.max(-120, Math.min(120, event.deltaY * (event.deltaMode ? 30 : 1)));
        this.zoom(Math.exp(-by / 400), event.clientX - frame.x, event.clientY - frame.y);
      },
      { passive: false },
    );
  }
}

export function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
