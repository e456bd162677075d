// The still picture and a sentence, where the live picture cannot be shown.

// Shows them in `el`; returns what takes them away. `again` is called by the button, if there is one.
export function still(model, el, why, again = null) {
  const words = model.get("words");
  const box = document.createElement("div");
  box.className = "wb-picture-still";
  const image = document.createElement("img");
  image.alt = words.picture;
  image.hidden = true;
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  said.textContent = `${words.still} ${words.why[why] || ""}`;
  box.append(image, said);
  if (again) {
    const button = document.createElement("button");
    button.className = "jupyter-button widget-button";
    button.textContent = words.again;
    button.addEventListener("click", again);
    box.append(button);
  }
  el.append(box);

  const show = (entry, buffers) => {
    if (!entry) return;
    const bytes = entry.parts ? entry.parts[0] : buffers[entry.at];
    URL.revokeObjectURL(image.src);
    image.src = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    image.hidden = false;
  };
  let waiting = 0;
  const ask = () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => model.send({ do: "still" }), 200);
  };
  const hear = (message, buffers) => {
    if (!message.put) return;
    if (message.put.still) show(message.put.still, buffers);
    else if (message.put.part) ask();
  };
  model.on("msg:custom", hear);
  ask();
  return () => {
    clearTimeout(waiting);
    model.off("msg:custom", hear);
    URL.revokeObjectURL(image.src);
    box.remove();
  };
}

export default {
  render({ model, el }) {
    return still(model, el, "bundle");
  },
};
