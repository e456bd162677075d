// Names for screen readers, and undo and redo by the keyboard, for the bench round this widget.

function nameControls(root) {
  for (const field of root.querySelectorAll(".wb-field")) {
    const label = field.querySelector(".widget-label");
    const note = field.querySelector(".wb-note .widget-html-content");
    const input = field.querySelector("input, select, textarea");
    const handle = field.querySelector(".noUi-handle");
    if (note && !note.id) note.id = "wb-" + Math.random().toString(36).slice(2);
    for (const control of [input, handle]) {
      if (!control || !note) continue;
      set(control, "aria-describedby", note.id);
    }
    if (handle && label) set(handle, "aria-label", label.title.split(":")[0] || label.textContent);
    if (handle) set(handle, "aria-valuetext", String(Number(handle.getAttribute("aria-valuenow"))));
    if (input) set(input, "aria-invalid", String(Boolean(field.querySelector(".wb-refusal"))));
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
  const canvas = root.querySelector(".wb-preview canvas");
  if (canvas) {
    set(canvas, "role", "img");
    const said = root.querySelector(".wb-line");
    if (said) set(canvas, "aria-label", said.textContent.trim());
  }
}

function set(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

function isText(element) {
  return element.matches("textarea, input[type=text], input[type=number]");
}

export default {
  render({ model, el }) {
    el.style.display = "none";
    let root = null;
    let observer = null;
    let waiting = 0;

    const keys = (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey || isText(event.target)) return;
      const key = event.key.toLowerCase();
      const what = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : "";
      if (!what) return;
      event.preventDefault();
      event.stopPropagation();
      model.send({ do: what });
    };

    const begin = () => {
      root = el.closest(".wb");
      if (!root) {
        waiting = requestAnimationFrame(begin);
        return;
      }
      // The notebook must not take the arrow keys and letters that are meant for the bench.
      root.setAttribute("data-lm-suppress-shortcuts", "true");
      root.addEventListener("keydown", keys);
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
      if (root) root.removeEventListener("keydown", keys);
    };
  },
};
