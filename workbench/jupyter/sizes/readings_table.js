// The table of readings. Enter goes down to the next size, so that calipers that type a number
// and Enter fill one line after the other; Tab goes to the repeats and on to the next line.

const REPEATS = 3;

function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function choice(options) {
  return element(
    "select",
    {},
    ...options.map(([value, text]) => element("option", { value }, text)),
  );
}

export default {
  render({ model, el }) {
    const words = model.get("words");
    const body = element("tbody");
    const heads = [...words.columns.map((text) => element("th", { scope: "col" }, text))];
    const table = element(
      "table",
      { class: "wb-readings" },
      element("caption", { class: "wb-only-read" }, words.caption),
      element("thead", {}, element("tr", {}, ...heads, element("td"))),
      body,
    );
    const add = element("button", { type: "button", class: "wb-slight" }, words.add);
    el.append(table, add);

    const spell = (text, parts) => text.replace(/\{(\w+)\}/g, (_all, name) => parts[name]);
    const says = (row) => words.statements.includes(row.kind.value);
    const rows = () => [...body.children].map((tr) => tr.controls);

    function send() {
      const lines = rows().map((row) => ({
        kind: row.kind.value,
        where: row.where.value,
        values: row.values.map((cell) => cell.value),
        instrument: row.instrument.value,
        unit: row.unit.value,
      }));
      model.set("lines", lines);
      model.save_changes();
    }

    function suit(row) {
      const statement = says(row);
      row.remove.closest("tr").toggleAttribute("data-says", statement);
      row.values.forEach((cell, column) => {
        cell.disabled = statement;
        cell.placeholder = statement ? "" : words.columns[2 + column];
      });
      if (statement) row.values[0].placeholder = "—";
      row.values[0].title = statement ? words.holds : "";
      row.where.placeholder = words.examples[row.kind.value] || "";
      row.instrument.disabled = row.unit.disabled =
        statement || words.degrees.includes(row.kind.value);
    }

    function name(row, index) {
      const controls = [
        row.kind,
        row.where,
        ...row.values,
        row.instrument,
        row.unit,
      ];
      controls.forEach((control, column) =>
        control.setAttribute(
          "aria-label",
          spell(words.line, { column: words.columns[column], number: index + 1 }),
        ),
      );
      row.remove.setAttribute("aria-label", spell(words.remove, { number: index + 1 }));
    }

    // The cell below; past the last line the next column's first. Null where the table ends.
    function below(row, column) {
      const all = rows().filter((one) => !says(one));
      const at = all.indexOf(row);
      if (at + 1 < all.length) return all[at + 1].values[column];
      return column + 1 < REPEATS && all.length ? all[0].values[column + 1] : null;
    }

    function beside(row, column) {
      if (column + 1 < REPEATS) return row.values[column + 1];
      const all = rows().filter((one) => !says(one));
      const next = all[all.indexOf(row) + 1];
      return next ? next.values[0] : null;
    }

    function make() {
      const row = {
        kind: choice(words.kinds),
        where: element("input", { type: "text", class: "wb-where", spellcheck: "false" }),
        values: Array.from({ length: REPEATS }, () =>
          element("input", { type: "text", class: "wb-value", autocomplete: "off" }),
        ),
        instrument: choice(words.instruments),
        unit: choice(words.units.map((unit) => [unit, unit])),
        off: element("td", { class: "wb-off" }),
        remove: element("button", { type: "button", class: "wb-slight" }, "×"),
      };
      const cells = [row.kind, row.where, ...row.values, row.instrument, row.unit];
      const tr = element(
        "tr",
        {},
        ...cells.map((control) => element("td", {}, control)),
        row.off,
        element("td", {}, row.remove),
      );
      tr.controls = row;
      for (const control of cells) {
        control.addEventListener("change", () => {
          suit(row);
          send();
        });
      }
      row.values.forEach((cell, column) => {
        cell.addEventListener("focus", () => cell.select());
        cell.addEventListener("keydown", (event) => {
          const plain = !event.ctrlKey && !event.altKey && !event.metaKey && !event.shiftKey;
          if (!plain || (event.key !== "Enter" && event.key !== "Tab")) return;
          const to = event.key === "Enter" ? below(row, column) : beside(row, column);
          if (event.key === "Enter") {
            event.preventDefault();
            event.stopPropagation();
            // Leaving the cell sends it; where there is nowhere to go, it is sent all the same.
            if (to) to.focus();
            else send();
          } else if (to) {
            event.preventDefault();
            to.focus();
          }
        });
      });
      row.remove.addEventListener("click", () => {
        const next = tr.nextElementSibling || tr.previousElementSibling;
        tr.remove();
        rows().forEach(name);
        (next ? next.controls.remove : add).focus();
        send();
      });
      return tr;
    }

    function put(control, value) {
      if (control.value !== value && document.activeElement !== control) control.value = value;
    }

    function fill() {
      const lines = model.get("lines");
      while (body.children.length > lines.length) body.lastElementChild.remove();
      while (body.children.length < lines.length) body.append(make());
      lines.forEach((line, index) => {
        const row = body.children[index].controls;
        put(row.kind, line.kind);
        put(row.where, line.where);
        row.values.forEach((cell, column) => put(cell, line.values[column] || ""));
        put(row.instrument, line.instrument);
        put(row.unit, line.unit);
        suit(row);
        name(row, index);
      });
    }

    function mark() {
      const marks = model.get("marks");
      rows().forEach((row, index) => {
        const { off = "", flag = "", title = "" } = marks[index] || {};
        const tr = body.children[index];
        tr.className = flag ? `wb-is-${flag}` : "";
        row.off.textContent = off;
        row.off.title = title;
        for (const cell of row.values) cell.setAttribute("aria-invalid", String(flag === "fault"));
      });
    }

    add.addEventListener("click", () => {
      const last = rows().at(-1);
      const tr = make();
      body.append(tr);
      if (last) {
        tr.controls.instrument.value = last.instrument.value;
        tr.controls.unit.value = last.unit.value;
      }
      suit(tr.controls);
      name(tr.controls, body.children.length - 1);
      send();
      tr.controls.kind.focus();
    });

    model.on("change:lines", fill);
    model.on("change:marks", mark);
    fill();
    mark();
    return () => {
      model.off("change:lines", fill);
      model.off("change:marks", mark);
    };
  },
};
