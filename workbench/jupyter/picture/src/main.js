// The live picture of the part: an anywidget over three.js.

import { Marks } from "./marks.js";
import { Mesh } from "./mesh.js";
import { Stage } from "./stage.js";
import { still } from "./still.js";
import { Turning, VIEWS } from "./turning.js";

const MOST = 150000; // triangles that are turned by hand without a wait
const ROOM = 72; // pixels round the part, for its sizes

// What the kernel told, kept once for all views of one picture.
function begin(model) {
  const scene = { part: new Mesh(), body: null, steps: [], sizes: [], chosen: -1, numbers: [], marks: [] };
  const take = (entries, buffers) => {
    const changed = new Set(Object.keys(entries));
    for (const [name, entry] of Object.entries(entries)) {
      const parts = entry?.parts ?? (!Number.isInteger(entry?.at) ? null : buffers.slice(entry.at, entry.at + entry.count));
      if (name === "part") {
        if (entry && !scene.part.take(entry, parts)) model.send({ do: "again" });
        scene.surface = null;
      } else if (name === "body") {
        scene.body = null;
        if (entry) (scene.body = new Mesh()).take(entry, parts);
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

  let stage = null, marks = null, takeAway = null, pending = 0, fitted = null, pointed = -1;
  let canvas = null;
  const turning = new Turning(() => ask());
  const name = document.createElement("div");
  name.className = "wb-pointed";
  name.hidden = true;

  const ask = () => {
    if (!pending) pending = requestAnimationFrame(() => { pending = 0; draw(); });
  };
  const draw = () => {
    if (!stage || !turning.width) return;
    stage.draw(turning);
    marks.draw(turning, stage.bounds, scene.dimensions && !scene.apart && !scene.instead, scene.marks ?? []);
    frame.dataset.view = turning.view;
    frame.dataset.drawn = String(Number(frame.dataset.drawn || 0) + 1);
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
    update(new Set(["part", "body", "bed", "line", "numbers", "sizes", "dimensions"]), null);
  };

  const size = () => {
    const { width, height } = frame.getBoundingClientRect();
    if (!stage || width < 2 || height < 2) return;
    const [before, tall] = [turning.width, turning.height];
    turning.width = width;
    turning.height = height;
    stage.resize(width, height, Math.min(devicePixelRatio || 1, 2));
    if (fitted && before > 2) turning.scale *= Math.min(width / before, height / tall);
    if (!fitted && scene.surface) whole();
    draw();
  };

  // Shows all of the part, as it is seen now or from another side.
  const whole = (view = turning.view) => {
    fitted = stage.bounds;
    if (view) turning.look(view, ...stage.bounds, ROOM);
    else turning.go(turning.fitted(...stage.bounds, ROOM));
  };

  const outgrown = () => {
    if (!fitted) return true;
    const across = ([low, high]) => Math.hypot(...low.map((value, i) => high[i] - value));
    const middle = ([low, high]) => low.map((value, i) => (value + high[i]) / 2);
    const [before, now] = [across(fitted), across(stage.bounds)];
    const [a, b] = [middle(fitted), middle(stage.bounds)];
    const moved = Math.hypot(...a.map((value, i) => value - b[i]));
    return now > 1.25 * before || now < 0.4 * before || moved > 0.5 * before;
  };

  const update = (changed, doing) => {
    if (!stage) return;
    if (changed.has("part")) {
      if (scene.part.owners.length > MOST) return fail("many");
      if (takeAway) {
        takeAway();
        takeAway = null;
        frame.hidden = tools.hidden = false;
      }
      scene.surface ??= scene.part.surface();
      stage.show(scene.surface);
      if (scene.surface.owners.length && turning.width > 2 && outgrown()) whole();
    }
    if (changed.has("bed") && scene.bed) stage.lie(...scene.bed.map(floats));
    if (changed.has("line")) frame.setAttribute("aria-label", `${words().picture}: ${scene.line}. ${words().keys}`);
    if (changed.has("numbers")) marks.number(scene.numbers);
    if (changed.has("sizes")) marks.tell(scene.sizes);
    if (["part", "body", "chosen", "apart", "paint", "steps", "instead"].some((key) => changed.has(key))) paint();
    if (["dimensions", "apart"].some((key) => changed.has(key))) press();
    if (doing?.look) whole(doing.look);
    if (doing?.zoom) turning.zoom(doing.zoom);
    ask();
  };

  const paint = () => {
    const cuts = scene.steps.map((step) => step.cuts);
    const bytes = scene.paint?.[0];
    const own = bytes && new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    stage.colour({ chosen: scene.chosen, pointed, apart: scene.apart, cuts, paint: own });
    const one = scene.body && !scene.apart && !scene.instead ? scene.body.surface() : null;
    stage.stand(one, cuts[scene.chosen]);
  };

  const point = (owner, x, y) => {
    name.hidden = owner < 0;
    if (owner >= 0) {
      name.textContent = scene.steps[owner]?.title || "";
      name.style.transform = `translate(${x + 14}px, ${y + 14}px)`;
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
    const hit = stage?.under(x, y, turning);
    if (hit && !scene.instead && scene.steps[hit.owner]) model.send({ do: "choose", with: [hit.owner] });
  });
  frame.addEventListener("pointermove", (event) => {
    if (event.buttons || event.pointerType === "touch" || event.target.closest("button")) return point(-1);
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
    else if (event.key === "d" || event.key === "D") model.send({ do: "dimensions" });
    else return;
    event.preventDefault();
    event.stopPropagation();
  });

  const button = (label, tip, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "jupyter-button widget-button";
    made.textContent = label;
    made.title = tip;
    made.addEventListener("click", act);
    tools.append(made);
    return made;
  };
  let toggles = {};
  const equip = () => {
    tools.replaceChildren();
    const said = words();
    for (const view of Object.keys(VIEWS)) button(...said.views[view], () => whole(view));
    button(...said.fit, () => whole());
    button(...said.near, () => turning.zoom(1.25));
    button(...said.far, () => turning.zoom(0.8));
    toggles = {
      dimensions: button(...said.dimensions, () => model.send({ do: "dimensions" })),
      apart: button(...said.apart, () => model.send({ do: "apart" })),
    };
    press();
  };
  const press = () => {
    for (const [key, made] of Object.entries(toggles)) {
      made.classList.toggle("mod-active", Boolean(scene[key]));
      made.setAttribute("aria-pressed", String(Boolean(scene[key])));
    }
  };

  marks = new Marks(frame, (one) => {
    model.send({ do: "size", with: [one.step, one.field] });
    reach(one.field, performance.now() + 2000);
  }, () => {});
  frame.append(name);
  equip();
  model.on("change:words", equip);
  views.add(update);
  const observer = new ResizeObserver(size);
  observer.observe(frame);
  start();

  return () => {
    views.delete(update);
    model.off("change:words", equip);
    observer.disconnect();
    cancelAnimationFrame(pending);
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
