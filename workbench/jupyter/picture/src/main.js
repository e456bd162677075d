// The live picture of the part: an anywidget over three.js.

import { fitting } from "./fitting.js";
import { Marks } from "./marks.js";
import { caught, read } from "./measuring.js";
import { Mesh } from "./mesh.js";
import { Stage } from "./stage.js";
import { still } from "./still.js";
import { Turning, VIEWS, dot } from "./turning.js";

const MOST = 150000; // triangles that are turned by hand without a wait
const REST = 300; // ms without another picture, and without a hand at work, after which the picture rests
// Values of a dragged size that are on their way at once, and ms after which one is no longer waited for.
const AWAY = 2, LOST = 250;
const HANDS = ["keydown", "pointerdown", "pointermove", "wheel", "input"];

// What the kernel told, kept once for all views of one picture.
function begin(model) {
  const scene = { part: new Mesh(), body: null, beside: null, steps: [], sizes: [], chosen: -1, numbers: [], marks: [] };
  const take = (entries, buffers) => {
    const changed = new Set(Object.keys(entries));
    for (const [name, entry] of Object.entries(entries)) {
      const parts = entry?.parts ?? (!Number.isInteger(entry?.at) ? null : buffers.slice(entry.at, entry.at + entry.count));
      if (name === "part") {
        if (entry && !scene.part.take(entry, parts)) model.send({ do: "again" });
        if (!entry || entry.show) scene.surface = null;
        else changed.delete(name); // what may be shown next
      } else if (name === "body" || name === "beside") {
        scene[name] = null;
        if (entry) (scene[name] = new Mesh()).take(entry, parts);
      } else if (parts) {
        scene[name] = parts;
      } else {
        scene[name] = entry;
      }
    }
    return changed;
  };
  take(model.get("scene"), []);
  // What the kernel told while this script was on its way was heard by nobody.
  model.send({ do: "again" });
  return { scene, take };
}

function initialize(model) {
  const { scene, take } = begin(model);
  const views = new Set();
  const hear = (message, buffers) => {
    const changed = message.put ? take(message.put, buffers) : new Set();
    for (const view of views) view(changed, message.do);
  };
  model.on("msg:custom", hear);
  return { scene, views, close: () => model.off("msg:custom", hear) };
}

function render(model, el, { scene, views }) {
  const words = () => model.get("words");
  const colours = model.get("colours");
  el.classList.add("wb-picture-box");
  const frame = document.createElement("div");
  frame.className = "wb-picture";
  frame.tabIndex = 0;
  frame.setAttribute("role", "application");
  frame.setAttribute("aria-label", words().picture);
  const tools = document.createElement("div");
  tools.className = "wb-tools";
  el.append(frame, tools);

  const now = { section: null, measuring: null, fit: 0 }; // what is shown in this view alone
  let held = null;
  let stage = null, marks = null, takeAway = null, pending = 0, rest = 0, calm = 0, noting = 0, fitted = null, pointed = -1;
  let canvas = null;
  const turning = new Turning(() => ask());
  const told = document.createElement("div");
  told.className = "wb-reading-told";
  told.setAttribute("role", "status");
  const name = document.createElement("div");
  name.className = "wb-pointed";
  name.hidden = true;

  // The picture that rests takes long where no graphics card draws, and holds up the next.
  const wait = () => {
    clearTimeout(rest);
    rest = setTimeout(() => draw(!pending && !turning.going), REST);
  };
  const hand = (event) => {
    if (frame.dataset.moving !== undefined && (event.type !== "pointermove" || event.buttons)) wait();
  };
  for (const kind of HANDS) window.addEventListener(kind, hand, { capture: true, passive: true });

  const ask = () => {
    frame.dataset.moving = "";
    if (!pending) pending = requestAnimationFrame(() => { pending = 0; draw(); });
  };
  // On its way to rest the picture is drawn quickly, then once more as well as can be.
  const draw = (resting = stage?.fast, withSizes = true) => {
    if (!stage || !turning.width) return;
    stage.draw(turning, resting);
    clearTimeout(rest);
    if (!resting) {
      frame.dataset.moving = "";
      wait();
    }
    // The sizes of a part that has just come are on their way, and move where they stand now.
    clearTimeout(noting);
    if (withSizes) note();
    else noting = setTimeout(note, REST / 2);
    frame.dataset.view = turning.view;
    frame.dataset.eye = [turning.scale, ...turning.centre].map((value) => value.toFixed(4)).join(" ");
    if (list) list.value = turning.view;
    frame.dataset.part = scene.part.seen;
    frame.dataset.drawn = String(Number(frame.dataset.drawn || 0) + 1);
    if (resting && !pending && !turning.going) delete frame.dataset.moving;
  };

  // The sizes over the picture, which are laid without drawing the part.
  const note = () => {
    clearTimeout(noting);
    if (!stage) return;
    const plain = !scene.apart && !scene.instead && !scene.laid && !now.measuring;
    marks.draw(turning, stage.bounds, scene.dimensions && plain, scene.marks ?? [], now.measuring);
  };

  const fail = (why, again = null) => {
    frame.hidden = tools.hidden = true;
    if (!takeAway) takeAway = still(model, el, why, again);
  };

  const start = () => {
    takeAway?.();
    takeAway = null;
    frame.hidden = tools.hidden = false;
    canvas?.remove();
    canvas = document.createElement("canvas");
    frame.prepend(canvas);
    try {
      stage = new Stage(canvas, colours);
    } catch {
      canvas.remove();
      stage = canvas = null;
      return fail("webgl");
    }
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      if (!stage) return;
      stage = null;
      fail("lost", start);
    });
    fitted = null;
    size();
    update(new Set(["part", "body", "beside", "bed", "line", "numbers", "sizes", "dimensions"]), null);
  };

  const size = () => {
    const { width, height } = frame.getBoundingClientRect();
    if (!stage || width < 2 || height < 2) return;
    const [before, tall] = [turning.width, turning.height];
    turning.width = width;
    turning.height = height;
    stage.resize(width, height, Math.min(devicePixelRatio || 1, 2));
    if (fitted && before > 2 && turning.byHand) turning.scale *= Math.min(width / before, height / tall);
    else if (fitted) Object.assign(turning, turning.fitted(...stage.extent, room()));
    if (!fitted && scene.surface) whole();
    draw();
  };

  // Pixels that are left round the part for its sizes.
  const room = () => Math.max(36, Math.min(72, 0.18 * Math.min(turning.width, turning.height)));

  // Shows all of the part, as it is seen now or from another side.
  const whole = (view = turning.view) => {
    fitted = stage.extent;
    turning.byHand = false;
    if (view) turning.look(view, ...stage.extent, room());
    else turning.go(turning.fitted(...stage.extent, room()));
  };

  const outgrown = () => {
    if (!fitted) return true;
    const across = ([low, high]) => Math.hypot(...low.map((value, i) => high[i] - value));
    const middle = ([low, high]) => low.map((value, i) => (value + high[i]) / 2);
    const [before, now] = [across(fitted), across(stage.extent)];
    const [a, b] = [middle(fitted), middle(stage.extent)];
    const moved = Math.hypot(...a.map((value, i) => value - b[i]));
    return now > 1.25 * before || now < 0.4 * before || moved > 0.5 * before;
  };

  const update = (changed, doing) => {
    if (!stage) return;
    if (doing?.answered) return answered();
    if (changed.has("part")) {
      if (scene.part.owners.length > MOST) return fail("many");
      if (takeAway) {
        takeAway();
        takeAway = null;
        frame.hidden = tools.hidden = false;
      }
      scene.surface ??= scene.part.surface();
      stage.show(scene.surface);
      if (scene.surface.owners.length && turning.width > 2 && !held && outgrown()) whole();
    }
    if (["beside", "apart", "instead", "laid"].some((key) => changed.has(key))) {
      const alone = scene.apart || scene.instead || scene.laid;
      stage.beside(alone ? null : scene.beside?.surface() ?? null);
      frame.dataset.beside = String(!alone && scene.beside !== null);
      if (changed.has("beside") && scene.surface && turning.width > 2 && !held && outgrown()) whole();
    }
    if (changed.has("bed") && scene.bed) stage.lie(scene.bed);
    if (changed.has("line")) frame.setAttribute("aria-label", `${words().picture}: ${scene.line}. ${words().keys}`);
    if (changed.has("numbers")) marks.number(scene.numbers);
    if (changed.has("sizes")) marks.tell(scene.sizes);
    const noted = !doing && !now.fit && [...changed].every((key) => key === "sizes" || key === "line");
    if (changed.has("sizes") && now.fit) changed.add("body");
    if (["part", "body", "chosen", "apart", "paint", "steps", "instead"].some((key) => changed.has(key))) paint();
    if (["part", "paint", "laid"].some((key) => changed.has(key))) {
      if (now.section) slice(now.section);
      if (now.measuring) measure([]);
      hang();
    }
    if (changed.has("laid") && scene.surface && turning.width > 2) whole("corner");
    if (changed.has("sizes")) followed();
    if (changed.has("part")) answered();
    tell();
    if (doing?.look) whole(doing.look);
    if (doing?.zoom) turning.zoom(doing.zoom);
    // A part that changed is drawn at once, so that it is ready when the page is shown next.
    if (changed.has("part") && !pending && !turning.going) draw(stage.fast, changed.has("sizes"));
    else if (noted && turning.width > 2) note();
    else ask();
  };

  const paint = () => {
    const cuts = scene.steps.map((step) => step.cuts);
    const bytes = scene.paint?.[0];
    const own = bytes && new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    stage.colour({ chosen: scene.chosen, pointed, apart: scene.apart, cuts, paint: own });
    const one = scene.body && !scene.apart && !scene.instead && !scene.laid ? scene.body.surface() : null;
    stage.stand(one, cuts[scene.chosen]);
    if (one && now.fit) stage.fit(fitting(scene.sizes, one, now.fit));
  };

  const hang = () => {
    const flags = scene.laid && scene.hangs?.[0];
    const bytes = flags && new Uint8Array(flags.buffer, flags.byteOffset, flags.byteLength);
    stage.hang(bytes, scene.laid && scene.brim ? floats(scene.brim[0]) : null);
  };

  // -- section, measuring ----------------------------------------------------------------------

  const slice = (section) => {
    now.section = section;
    if (section) {
      const [low, high] = stage.bounds;
      section.at = low[section.axis] + section.share * (high[section.axis] - low[section.axis]);
    }
    stage.cut(section);
    tell();
    ask();
  };

  // The half towards the eye is taken away, so that the cut face is seen.
  const facing = (section) => ({ ...section, over: turning.axes()[2][section.axis] < 0 });

  const length = (mm) => `${Number((mm / words().mm).toFixed(words().places))} ${words().unit}`;

  // Takes the places that were picked, one or two, and tells what calipers would read.
  const measure = (picked) => {
    now.measuring = picked && { picked, reading: picked.length ? read(...picked) : null };
    const reading = now.measuring?.reading;
    if (reading) {
      const parts = reading.parts ? ` (${reading.parts.map((part, i) => `${"xyz"[i]} ${length(Math.abs(part))}`).join(", ")})` : "";
      reading.text = reading.degrees === undefined ? length(reading.value) : `${Number(reading.degrees.toFixed(1))}°`;
      reading.told = `${words().readings[reading.name]}: ${reading.text}${parts}`;
    }
    tell();
    ask();
  };

  const point = (owner, x, y) => {
    name.hidden = owner < 0;
    if (owner >= 0) {
      name.textContent = scene.steps[owner]?.title || "";
      const [right, low] = [frame.clientWidth - name.offsetWidth - 2, frame.clientHeight - name.offsetHeight - 2];
      name.style.transform = `translate(${Math.max(2, Math.min(x + 14, right))}px, ${Math.min(y + 14, low)}px)`;
    }
    if (owner === pointed || !stage) return;
    pointed = owner;
    paint();
    ask();
  };

  // Puts the cursor into the number box of a size, once the kernel has brought it into view.
  const reach = (field, end) => {
    const found = [...(el.closest(".wb")?.querySelectorAll(`.wb-sizes-page .wb-of-${field} input`) ?? [])];
    const box = found.find((input) => input.offsetParent);
    if (box) {
      box.focus();
      box.select?.();
    } else if (performance.now() < end) {
      requestAnimationFrame(() => reach(field, end));
    }
  };

  // -- by hand ---------------------------------------------------------------------------------

  turning.listen(frame, (x, y) => {
    frame.focus({ preventScroll: true });
    if (stage && now.measuring) {
      const one = caught(stage, turning, x, y);
      const before = now.measuring.picked;
      if (one) measure(before.length === 1 ? [before[0], one] : [one]);
      return;
    }
    const hit = stage?.under(x, y, turning);
    if (hit && !scene.instead && scene.steps[hit.owner]) model.send({ do: "choose", with: [hit.owner] });
  });
  frame.addEventListener("pointermove", (event) => {
    if (held || event.buttons || event.pointerType === "touch" || event.target.closest("button")) return point(-1);
    const box = frame.getBoundingClientRect();
    const [x, y] = [event.clientX - box.x, event.clientY - box.y];
    point(stage && !scene.instead ? stage.under(x, y, turning)?.owner ?? -1 : -1, x, y);
  });
  frame.addEventListener("pointerleave", () => point(-1));
  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const way = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const view = Object.keys(VIEWS)[event.key];
    if (way && event.shiftKey) turning.shift(way[0] * -24, way[1] * -24);
    else if (way) turning.turn(way[0] * 10, way[1] * 10);
    else if (view && /^[0-6]$/.test(event.key)) whole(view);
    else if (event.key === "+" || event.key === "=") turning.zoom(1.25);
    else if (event.key === "-" || event.key === "−") turning.zoom(0.8);
    else if (event.key === "f" || event.key === "F") whole();
    else if (event.key === "Escape" && now.measuring) measure(null);
    else if (event.key === "Enter" && now.measuring) turning.tap(turning.width / 2, turning.height / 2);
    else if (keys[event.key.toLowerCase()]) keys[event.key.toLowerCase()].click();
    else return;
    press();
    event.preventDefault();
    event.stopPropagation();
  });

  const button = (label, tip, act, home) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "jupyter-button widget-button";
    made.textContent = label;
    made.title = tip;
    made.addEventListener("click", act);
    home.append(made);
    return made;
  };
  const group = (kind, home = tools) => {
    const made = document.createElement("div");
    made.className = kind;
    home.append(made);
    return made;
  };
  const choice = (label, options, act, home) => {
    const made = document.createElement("select");
    made.setAttribute("aria-label", label);
    made.title = label;
    for (const [value, text] of options) made.add(new Option(text, value));
    made.addEventListener("change", () => act(made.value));
    home.append(made);
    return made;
  };
  let toggles = {}, keys = {}, fits = null, more = null, across = null, slider = null, list = null;
  const equip = () => {
    tools.replaceChildren();
    const said = words();
    const looks = group("wb-row"), shows = group("wb-row");
    const views = group("wb-views", looks);
    for (const view of Object.keys(VIEWS)) button(...said.views[view], () => whole(view), views);
    list = choice(said.look, Object.keys(VIEWS).map((view) => [view, said.views[view][0]]), (view) => whole(view), looks);
    list.className = "wb-view-list";
    button(...said.fit, () => whole(), looks);
    for (const [sign, [name, tip], by] of [["+", said.near, 1.25], ["−", said.far, 0.8]]) {
      const zoom = button(sign, tip, () => turning.zoom(by), looks);
      zoom.setAttribute("aria-label", name);
      zoom.classList.add("wb-zoom");
    }
    toggles = {
      dimensions: button(...said.dimensions, () => model.send({ do: "dimensions" }), shows),
      apart: button(...said.apart, () => model.send({ do: "apart" }), shows),
      laid: button(...said.laid, () => model.send({ do: "laid" }), shows),
      section: button(...said.section, () => slice(now.section ? null : facing({ axis: Number(across.value), share: Number(slider.value) })), shows),
      measuring: button(...said.measure, () => measure(now.measuring ? null : []), shows),
    };
    keys = { d: toggles.dimensions, b: toggles.laid, s: toggles.section, m: toggles.measuring };
    fits = choice(said.fits.name, said.fits.options.map((text, i) => [i, text]), (value) => {
      now.fit = [0, 1, 10][value];
      paint();
      ask();
    }, shows);
    more = group("wb-more", shows);
    across = choice(said.across.name, said.across.options.map((text, i) => [i, text]), (value) => slice(facing({ ...now.section, axis: Number(value) })), more);
    across.value = 1;
    slider = document.createElement("input");
    slider.type = "range";
    slider.min = 0.001;
    slider.max = 0.999;
    slider.step = 0.001;
    slider.value = 0.5;
    slider.setAttribute("aria-label", said.across.place);
    slider.addEventListener("input", () => slice({ ...now.section, share: Number(slider.value) }));
    more.append(slider);
    button(...said.across.over, () => slice({ ...now.section, over: !now.section.over }), more);
    press();
    tell();
  };
  const press = () => {
    const on = { ...scene, section: now.section, measuring: now.measuring };
    for (const [key, made] of Object.entries(toggles)) {
      made.classList.toggle("mod-active", Boolean(on[key]));
      made.setAttribute("aria-pressed", String(Boolean(on[key])));
    }
    if (fits) fits.hidden = !scene.sizes.some((size) => size.mating);
    frame.classList.toggle("wb-measuring", Boolean(now.measuring));
  };
  const tell = () => {
    if (!more) return;
    more.hidden = !now.section;
    const at = now.section && `${"xyz"[now.section.axis]} ${length(now.section.at)}`;
    const picked = now.measuring?.picked.length ?? -1;
    const asked = picked >= 0 ? words().pick[Math.min(picked, 1)] : "";
    told.textContent = now.measuring?.reading?.told || asked || at || scene.laid?.told || "";
    press();
  };

  // -- a size by its handle --------------------------------------------------------------------

  // The value follows the hand along the size's own axis; how far the handle moves for each mm of
  // value shows with the first answer, since a part may grow to both sides.
  const grab = (size, event) => {
    event.preventDefault();
    const [right, up] = turning.axes();
    const flat = [dot(size.axis, right) * turning.scale, -dot(size.axis, up) * turning.scale];
    const seen = flat[0] ** 2 + flat[1] ** 2;
    if (seen < 1) return;
    held = { size, x: event.clientX, y: event.clientY, gain: 1, value: size.value, sent: size.value, end: dot(size.end[0], size.axis), away: [] };
    const move = (next) => {
      const along = ((next.clientX - held.x) * flat[0] + (next.clientY - held.y) * flat[1]) / seen;
      const wanted = held.value + (Math.sign(held.value) || 1) * along / held.gain;
      held.wanted = Math.round(wanted / size.pitch) * size.pitch;
      send();
    };
    const back = (key) => {
      if (key.key !== "Escape") return;
      key.preventDefault();
      key.stopPropagation();
      if (held) held.wanted = size.value;
      up_();
    };
    const up_ = () => {
      window.removeEventListener("keydown", back, true);
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", up_);
      window.removeEventListener("pointercancel", up_);
      if (held) {
        held.away = [];
        send();
      }
      held = null;
      if (outgrown()) whole();
      frame.classList.remove("wb-dragging");
    };
    window.addEventListener("keydown", back, true);
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", up_);
    window.addEventListener("pointercancel", up_);
    frame.classList.add("wb-dragging");
  };
  // The kernel makes one part while the last is drawn; the next value goes when that is done, when it
  // is told that no part comes of it, or after a while, as one that is overtaken is not told of.
  const answered = () => {
    held?.away.shift();
    send();
  };
  const send = () => {
    if (!held || held.wanted === undefined || held.wanted === held.sent) return;
    const now_ = performance.now();
    held.away = held.away.filter((since) => now_ - since < LOST);
    if (held.away.length >= AWAY) return;
    held.away.push(now_);
    held.sent = held.wanted;
    const { step, field } = held.size;
    model.send({ do: "drag", with: [step, field, held.wanted] });
    clearTimeout(calm);
    calm = setTimeout(() => model.send({ do: "rest", with: [step, field] }), REST / 2);
  };
  const followed = () => {
    if (!held) return;
    const now_ = scene.sizes.find((size) => size.field === held.size.field && size.step === held.size.step);
    if (now_ && Math.abs(now_.value - held.value) > 1e-6 && now_.kind === "length") {
      const gain = Math.abs((dot(now_.end[0], now_.axis) - held.end) / (now_.value - held.value));
      if (gain > 0.2 && gain < 5) held.gain = gain;
    }
  };

  marks = new Marks(frame, (one) => {
    model.send({ do: "size", with: [one.step, one.field] });
    reach(one.field, performance.now() + 2000);
  }, grab);
  frame.append(name, told);
  equip();
  model.on("change:words", equip);
  views.add(update);
  const observer = new ResizeObserver(size);
  observer.observe(frame);
  start();
  // The bench fits the window: bring all of it into sight where its cell was just run.
  requestAnimationFrame(() => el.closest(".jp-Notebook .wb")?.scrollIntoView({ block: "nearest" }));

  return () => {
    views.delete(update);
    model.off("change:words", equip);
    observer.disconnect();
    cancelAnimationFrame(pending);
    clearTimeout(rest);
    clearTimeout(noting);
    for (const kind of HANDS) window.removeEventListener(kind, hand, { capture: true });
    turning.stop();
    const closing = stage;
    stage = null;
    closing?.close();
    takeAway?.();
  };
}

const floats = (view) => new Float32Array(view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength));

// Called once for each picture in the notebook, however often it is shown.
export default () => {
  let kept = null;
  return {
    initialize({ model }) {
      kept = initialize(model);
      return kept.close;
    },
    render({ model, el }) {
      return render(model, el, kept);
    },
  };
};
