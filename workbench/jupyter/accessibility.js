// Names for screen readers, undo and redo by the keyboard, and where a drag begins and ends, for
// the bench round this widget.

function nameControls(root) {
  for (const field of root.querySelectorAll(".wb-field")) {
    const label = field.querySelector(".wb-slider .widget-label");
    const note = field.querySelector(".wb-note .widget-html-content");
    const input = field.querySelector("input, select, textarea");
    const handle = field.querySelector(".noUi-handle");
    if (note && !note.id) note.id = "wb-" + Math.random().toString(36).slice(2);
    for (const control of [input, handle]) {
      if (!control || !note) continue;
      set(control, "aria-describedby", note.id);
    }
    // Both are named with the unit that their number is in.
    for (const control of [input, handle]) {
      if (control && handle && label) set(control, "aria-label", label.title);
    }
    if (handle) set(handle, "aria-valuetext", spoken(handle));
    if (input) set(input, "aria-invalid", String(Boolean(field.querySelector(".wb-refusal"))));
  }
  for (const box of root.querySelectorAll(".wb-number")) {
    const label = box.querySelector(".widget-label");
    const input = box.querySelector("input");
    if (label && input) set(input, "aria-label", `${label.textContent}: ${label.title}`);
  }
  for (const slider of root.querySelectorAll(".widget-slider:not(.wb-slider)")) {
    const label = slider.querySelector(".widget-label");
    const handle = slider.querySelector(".noUi-handle");
    if (label && handle) set(handle, "aria-label", label.title || label.textContent);
  }
  for (const toggle of root.querySelectorAll("button.widget-toggle-button")) {
    set(toggle, "aria-pressed", String(toggle.classList.contains("mod-active")));
  }
  const regions = [".wb-left", ".wb-middle", ".wb-right", ".wb-under"];
  for (const selector of regions) {
    const region = root.querySelector(selector);
    const title = region && region.querySelector(".wb-region-title");
    if (title) {
      set(region, "role", "region");
      set(region, "aria-label", title.textContent);
    }
  }
}

// What the slider stands at; what it says of itself is rounded to a tenth.
function spoken(handle) {
  const target = handle.closest(".noUi-target");
  const exact = target && target.noUiSlider ? target.noUiSlider.get(true) : NaN;
  const told = Number.isFinite(exact) ? exact.toFixed(4) : handle.getAttribute("aria-valuenow");
  return String(Number(told));
}

function set(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

function isText(element) {
  return element.matches("textarea, input[type=text], input[type=number]");
}

// Escape leads from a page back to the steps and sizes; [ and ] to the page before and the next.
function turnPage(root, event) {
  if (event.key === "Escape" && root.classList.contains("wb-paged")) {
    root.querySelector(".wb-back").click();
    return true;
  }
  const by = { "[": -1, "]": 1 }[event.key];
  if (!by || isText(event.target)) return false;
  const pages = [...root.querySelectorAll(".wb-page-row .wb-pages button")];
  const open = pages.findIndex((page) => page.classList.contains("mod-active"));
  pages[(open + by + pages.length) % pages.length]?.click();
  return true;
}

function shown(element) {
  return element.getClientRects().length > 0;
}

// The numbers that can be typed on the page that is open, in order.
function numbers(root) {
  return [...root.querySelectorAll(".wb-left .wb-field > .wb-box input")].filter(shown);
}

function type(input) {
  input.focus();
  input.select();
}

// Enter leads from a number to the next one, at once: the next sign may be typed already. In the
// name of a new step it adds the step; the name goes along, for what was typed may still wait.
function enter(root, event, model) {
  const input = event.target;
  if (event.key !== "Enter" || !input.matches("input")) return;
  if (input.closest(".wb-enter")) model.send({ do: "add", name: input.value });
  const all = numbers(root);
  const next = all[all.indexOf(input) + 1];
  if (all.includes(input) && next) type(next);
}

export default {
  render({ model, el }) {
    el.style.display = "none";
    let root = null;
    let observer = null;
    let waiting = 0;

    // Heard before the notebook hears it: plain keys in the bench are not for the notebook, which
    // would take them for its commands; keys with Control, such as the one that saves, still are.
    const keys = (event) => {
      if (!root || !root.contains(event.target)) return;
      const commanding = event.ctrlKey || event.metaKey || event.altKey;
      event.target.toggleAttribute("data-lm-suppress-shortcuts", !commanding);
      if (!commanding && turnPage(root, event)) {
        event.preventDefault();
        return;
      }
      if (!commanding) enter(root, event, model);
      // What was typed into a box since it was entered is the box's own to take back.
      if (!commanding || event.altKey || (isText(event.target) && event.target === typed)) return;
      const key = event.key.toLowerCase();
      const what = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : "";
      if (!what) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      model.send({ do: what });
    };

    // What a hand does between taking hold of a slider, or of a size in the picture, and letting go
    // is one edit, however long it rests on the way.
    let held = false;
    const press = (event) => {
      held = Boolean(root?.contains(event.target) && event.target.closest(".noUi-target, .wb-handle"));
      if (held) model.send({ do: "hold" });
    };
    const letGo = () => {
      if (held) model.send({ do: "release" });
      held = false;
    };
    let typed = null;
    const write = (event) => { typed = event.target; };
    const leave = () => { typed = null; };
    const listened = { keydown: keys, input: write, change: leave, focusin: leave, pointerdown: press, pointerup: letGo, pointercancel: letGo };

    // A step that was added is shown a moment later than its numbers are asked for. Whoever has gone
    // elsewhere meanwhile stays there.
    const typeSizes = (message, tries = 20, before = null) => {
      if (message.do !== "type") return;
      const [first] = numbers(root), now = document.activeElement;
      const gone = before ? now !== before && (shown(before) || now !== document.body) : !now?.closest(".wb-left") && now !== document.body;
      if (gone) return;
      if (first && first !== before) type(first);
      if (tries) setTimeout(() => typeSizes(message, tries - 1, first), 50);
    };
    model.on("msg:custom", typeSizes);

    const begin = () => {
      root = el.closest(".wb");
      if (!root) {
        waiting = requestAnimationFrame(begin);
        return;
      }
      for (const [name, heard] of Object.entries(listened)) window.addEventListener(name, heard, true);
      observer = new MutationObserver(() => {
        cancelAnimationFrame(waiting);
        waiting = requestAnimationFrame(() => nameControls(root));
      });
      observer.observe(root, {
        subtree: true,
        childList: true,
        attributes: true,
        attributeFilter: ["class", "title", "aria-valuenow"],
      });
      nameControls(root);
    };
    begin();

    return () => {
      cancelAnimationFrame(waiting);
      if (observer) observer.disconnect();
      model.off("msg:custom", typeSizes);
      for (const [name, heard] of Object.entries(listened)) window.removeEventListener(name, heard, true);
    };
  },
};
