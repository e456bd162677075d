// Small pictures of shapes, one of which is chosen.

export default {
  render({ model, el }) {
    const box = document.createElement("div");
    box.className = "wb-shapes";
    box.setAttribute("role", "radiogroup");
    el.append(box);
    const draw = () => {
      box.setAttribute("aria-label", model.get("label"));
      const pictures = model.get("pictures");
      box.replaceChildren(
        ...model.get("shapes").map(([name, label]) => {
          const button = document.createElement("button");
          button.type = "button";
          button.dataset.name = name;
          button.setAttribute("role", "radio");
          const image = document.createElement("img");
          image.alt = "";
          if (pictures[name]) image.src = `data:image/png;base64,${pictures[name]}`;
          const word = document.createElement("span");
          word.textContent = label;
          button.append(image, word);
          button.addEventListener("click", () => choose(name));
          return button;
        }),
      );
      mark();
    };
    const choose = (name) => {
      model.set("chosen", name);
      model.save_changes();
    };
    const mark = () => {
      for (const button of box.children) {
        const on = button.dataset.name === model.get("chosen");
        button.setAttribute("aria-checked", String(on));
        button.tabIndex = on ? 0 : -1;
      }
    };
    box.addEventListener("keydown", (event) => {
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!by) return;
      event.preventDefault();
      const all = [...box.children];
      const next = all[(all.indexOf(document.activeElement) + by + all.length) % all.length];
      choose(next.dataset.name);
      next.focus();
    });
    const fill = () => {
      const pictures = model.get("pictures");
      for (const button of box.children) {
        const found = pictures[button.dataset.name];
        if (found && !button.firstChild.src) button.firstChild.src = `data:image/png;base64,${found}`;
      }
    };
    model.on("change:shapes", draw);
    model.on("change:chosen", mark);
    model.on("change:pictures", fill);
    draw();
    return () => {
      model.off("change:shapes", draw);
      model.off("change:chosen", mark);
      model.off("change:pictures", fill);
    };
  },
};
