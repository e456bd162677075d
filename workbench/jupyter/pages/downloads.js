// A list of written files, each a button that hands its bytes to the browser. The server may be
// another machine, and a page without code has no list of files: this works in both.

export default {
  render({ model, el }) {
    const words = model.get("words");
    const list = document.createElement("ul");
    list.className = "wb-paths";
    const said = document.createElement("div");
    said.setAttribute("role", "status");
    said.className = "wb-told wb-plain";
    el.append(list, said);

    // An answer reaches every view of the widget; only the one that asked takes it.
    const mine = crypto.getRandomValues(new Uint32Array(2)).join("-");

    const show = () => {
      said.textContent = "";
      list.replaceChildren(
        ...model.get("names").map((name) => {
          const button = document.createElement("button");
          button.type = "button";
          button.className = "wb-file";
          button.textContent = name;
          button.title = words.get.replace("{name}", name);
          button.addEventListener("click", () => model.send({ get: name, asked: mine }));
          const row = document.createElement("li");
          row.append(button);
          return row;
        }),
      );
    };

    const hear = (answer, buffers) => {
      if (answer.asked !== mine) return;
      said.textContent = answer.fault || "";
      if (answer.fault) return;
      const link = document.createElement("a");
      const address = URL.createObjectURL(new Blob(buffers, { type: "application/octet-stream" }));
      link.href = address;
      link.download = answer.name;
      link.click();
      setTimeout(() => URL.revokeObjectURL(address), 60000);
    };

    model.on("change:names", show);
    model.on("msg:custom", hear);
    show();
    return () => {
      model.off("change:names", show);
      model.off("msg:custom", hear);
    };
  },
};
