// In JupyterLab, for every notebook: writes what a bench has into the notebook's cells, runs a
// notebook that was opened for its bench, and says in words when the kernel has gone.
//
// The kernel speaks over a comm of the target "workbench" (jupyter/browser_comm.py):
//   it asks     {do: "read"}, and we tell it the content
//   or          {do: "write", serial, cells: {id: {source, before}}, metadata, own: {id: metadata}}
//   we answer   {did: "write", serial}, or with the notebook as it is where a cell is not "before"
//   we tell     {content: {cells, metadata}, loaded}, {saved: true}, {renamed: true}
//               loaded is true the first time after the notebook was opened from its file
(() => {
  const KEY = "workbench";
  const HANDS = ["keydown", "pointerdown", "pointermove", "input"];
  const REST = 1000; // ms without a hand at work after which the page no longer stands as busy
  const STALE = ["dead", "terminating", "restarting", "autorestarting"];

  const settings = (() => {
    const found = document.getElementById("jupyter-config-data");
    const config = found ? JSON.parse(found.textContent) : {};
    return JSON.parse(config[KEY] || "{}");
  })();

  const WORDS = {
    starting: "Starting the kernel …",
    running: "Running cell {cell} of {cells} …",
    building: "Building the part …",
    gone: "The kernel behind this bench has ended. Your part is kept.",
    go: "Put it back on the bench",
    ...settings.words,
  };

  // Paths of notebooks that are to arrive on the bench once they are open.
  const wanted = new Set(settings.arrive ? [settings.arrive] : []);

  const isNotebook = (widget) =>
    Boolean(widget && widget.context && widget.content && widget.content.model && widget.content.model.sharedModel);

  class Desk {
    constructor(app, panel) {
      this.app = app;
      this.panel = panel;
      this.context = panel.context;
      this.session = panel.context.sessionContext;
      this.comms = new Set();
      this.benches = new WeakMap();
      this.gone = false;
      this.loaded = true;
      this.arriving = null;
      this.busy = null;
      this.context.saveState.connect((_sender, state) => {
        if (state === "completed") this.tell({ saved: true });
      });
      this.context.pathChanged.connect(() => this.tell({ renamed: true }));
      this.session.kernelChanged.connect((_sender, change) => {
        this.comms.clear();
        this.leave(Boolean(change.oldValue));
        this.listen(change.newValue);
      });
      this.session.statusChanged.connect((_sender, status) => {
        if (!STALE.includes(status)) return;
        this.comms.clear();
        this.leave(true);
        if (status === "autorestarting" && this.hasBench) this.acknowledge();
      });
      this.session.ready.then(() => this.listen(this.session.session && this.session.session.kernel));
      panel.node.addEventListener("keydown", (event) => this.save(event), true);
      for (const kind of HANDS) panel.node.addEventListener(kind, (event) => this.hold(event), { capture: true, passive: true });
      this.timer = setInterval(() => this.look(), 500);
      panel.disposed.connect(() => {
        clearInterval(this.timer);
        clearTimeout(this.holding);
        this.rest();
      });
      this.arriveIfWanted();
    }

    // The boxes of widgets keep every key to themselves; the one that saves is JupyterLab's.
    save(event) {
      if (event.key !== "s" || !(event.ctrlKey || event.metaKey) || event.shiftKey || event.altKey) return;
      if (!event.target.closest(".wb input, .wb textarea, .wb select")) return;
      event.preventDefault();
      event.stopPropagation();
      this.app.commands.execute("docmanager:save");
    }

    // The icon of the page follows the kernel, and the browser fetches it anew each time. While a hand is
    // at work on a bench that is for every value: the page stands as busy until the hand rests.
    hold(event) {
      if (!event.target.closest(".wb") || (event.type === "pointermove" && !event.buttons)) return;
      if (!this.busy && this.app.status) this.busy = this.app.status.setBusy();
      clearTimeout(this.holding);
      this.holding = setTimeout(() => this.rest(), REST);
    }

    rest() {
      if (this.busy) this.busy.dispose();
      this.busy = null;
    }

    // -- the comm ------------------------------------------------------------------------------

    async listen(kernel) {
      if (!kernel) return;
      kernel.registerCommTarget(KEY, (comm) => this.open(comm));
      const reply = await kernel.requestCommInfo({ target_name: KEY });
      const comms = (reply.content && reply.content.comms) || {};
      for (const id of Object.keys(comms)) {
        if (!kernel.hasComm(id)) this.open(kernel.createComm(KEY, id));
      }
    }

    open(comm) {
      this.comms.add(comm);
      this.gone = false;
      comm.onMsg = (message) => this.hear(comm, message.content.data);
      comm.onClose = () => this.comms.delete(comm);
      comm.send({ content: this.content(), loaded: this.loaded });
      this.loaded = false;
    }

    tell(what) {
      for (const comm of this.comms) comm.send(what);
    }

    get shared() {
      return this.panel.content.model.sharedModel;
    }

    content() {
      return {
        cells: this.shared.cells.map((cell) => ({
          id: cell.id,
          cell_type: cell.cell_type,
          source: cell.getSource(),
          metadata: { tags: cell.getMetadata("tags") || [], [KEY]: cell.getMetadata(KEY) || null },
        })),
        metadata: { [KEY]: this.panel.content.model.getMetadata(KEY) || null },
      };
    }

    hear(comm, asked) {
      if (asked.do === "read") comm.send({ content: this.content() });
      if (asked.do !== "write") return;
      const cells = new Map(this.shared.cells.map((cell) => [cell.id, cell]));
      const fits = Object.entries(asked.cells).every(
        ([id, { before }]) => cells.has(id) && cells.get(id).getSource() === before,
      );
      if (!fits) {
        comm.send({ content: this.content() });
        return;
      }
      this.shared.transact(() => {
        for (const [id, { source }] of Object.entries(asked.cells)) cells.get(id).setSource(source);
        for (const [id, own] of Object.entries(asked.own)) {
          if (!cells.has(id)) continue;
          if (own) cells.get(id).setMetadata(KEY, own);
          else cells.get(id).deleteMetadata(KEY);
        }
      });
      if (asked.metadata) this.panel.content.model.setMetadata(KEY, asked.metadata);
      comm.send({ did: "write", serial: asked.serial });
    }

    // -- a kernel that has gone ------------------------------------------------------------------

    leave(gone) {
      this.gone = this.gone || gone;
      this.look();
    }

    get hasBench() {
      return Boolean(this.panel.node.querySelector(".wb-still"));
    }

    // JupyterLab says the same in a dialog with nothing to choose, over the notice with the button.
    acknowledge() {
      const end = Date.now() + 5000;
      const ask = () => {
        const buttons = document.querySelectorAll("dialog.jp-Dialog .jp-Dialog-footer button");
        if (buttons.length === 1) buttons[0].click();
        else if (Date.now() < end) setTimeout(ask, 50);
      };
      ask();
    }

    // Where a bench has a still picture and no kernel behind it, the picture stands in for it.
    look() {
      if (!this.panel.isVisible) return;
      this.keepBench();
      const areas = new Set(this.panel.node.querySelectorAll(".wb-gone"));
      for (const still of this.panel.node.querySelectorAll(".wb-still")) {
        const area = still.closest(".jp-OutputArea");
        if (area) areas.add(area);
      }
      for (const area of areas) {
        const live = area.querySelector(".wb:not(.wb-lesson)");
        const settled = this.session.isReady && !this.arriving;
        const still = area.querySelector(".wb-still");
        const stale = still && !this.arriving && (this.gone || (!live && settled));
        area.classList.toggle("wb-gone", Boolean(stale));
        const notice = area.querySelector(":scope > .wb-notice");
        if (stale && !notice) area.prepend(this.notice(area));
        if (notice && !stale) notice.remove();
      }
    }

    // Where an earlier cell failed, JupyterLab empties the cells after it; the bench, which is still
    // at work in the kernel, is put back, so that the last good part stays in view.
    keepBench() {
      const kernel = this.session.session && this.session.session.kernel;
      for (const cell of this.panel.content.widgets) {
        if (cell.model.type !== "code") continue;
        const outputs = cell.model.outputs;
        if (cell.node.querySelector(".wb-still")) {
          if (this.benches.get(cell)?.count !== cell.model.executionCount) {
            this.benches.set(cell, { count: cell.model.executionCount, outputs: outputs.toJSON() });
          }
          continue;
        }
        const kept = this.benches.get(cell);
        const failed = this.panel.node.querySelector('[data-mime-type="application/vnd.jupyter.error"], [data-mime-type="application/vnd.jupyter.stderr"]');
        const idle = kernel && kernel.status === "idle" && this.comms.size > 0 && !this.gone;
        if (kept && failed && idle && outputs.length === 0 && !this.arriving) outputs.fromJSON(kept.outputs);
      }
    }

    notice(area) {
      const said = area.querySelector(".wb-still-gone");
      const go = area.querySelector(".wb-still-go");
      const box = document.createElement("div");
      box.className = "wb-notice";
      box.setAttribute("role", "status");
      const text = document.createElement("span");
      text.textContent = (said && said.textContent) || WORDS.gone;
      const button = document.createElement("button");
      button.textContent = (go && go.textContent) || WORDS.go;
      button.addEventListener("click", () => this.arrive());
      box.append(text, button);
      return box;
    }

    // -- arriving on the bench -------------------------------------------------------------------

    arriveIfWanted() {
      const path = this.context.path;
      if (!wanted.has(path)) return;
      wanted.delete(path);
      this.arrive();
    }

    async arrive() {
      if (this.arriving) return;
      this.arriving = document.createElement("div");
      this.arriving.className = "wb-arriving";
      this.arriving.setAttribute("role", "status");
      this.say(WORDS.starting);
      this.panel.node.append(this.arriving);
      this.look();
      try {
        await this.context.ready;
        await this.session.ready;
        const kernel = this.session.session && this.session.session.kernel;
        if (!kernel || STALE.includes(kernel.status)) await this.session.restartKernel();
        this.app.shell.activateById(this.panel.id);
        // The list of files takes a fifth of a laptop's screen from the bench; a click brings it back.
        if (this.app.shell.collapseLeft) this.app.shell.collapseLeft();
        await this.until(() => this.panel.content.activeCell);
        const before = new Set(this.panel.node.querySelectorAll(".wb"));
        // By its id, since another notebook may still have the focus, and would be run instead.
        const done = this.app.commands.execute("notebook:run-all-cells", { semanticWidget: this.panel.id });
        let ended = false;
        const over = Promise.resolve(done).finally(() => (ended = true));
        await this.until(() => this.shown(before, ended));
        await Promise.race([over, new Promise((soon) => setTimeout(soon, 2000))]);
      } finally {
        this.arriving.remove();
        this.arriving = null;
        this.look();
      }
    }

    // Tells how far it is; true once the bench is in view, or there is nothing to wait for.
    shown(before, ended) {
      const cells = this.panel.content.widgets.filter((cell) => cell.model.type === "code");
      const waiting = cells.filter((cell) => cell.promptNode && cell.promptNode.textContent.includes("*"));
      const bench = [...this.panel.node.querySelectorAll(".wb:not(.wb-lesson)")].find((wb) => !before.has(wb));
      if (bench) {
        const line = bench.querySelector(".wb-line p");
        bench.scrollIntoView({ block: "start" });
        if (line && line.textContent) return true;
        this.say(WORDS.building);
        return false;
      }
      if (waiting.length) {
        const at = cells.indexOf(waiting[0]) + 1;
        this.say(WORDS.running.replace("{cell}", at).replace("{cells}", cells.length));
      }
      return ended && !waiting.length;
    }

    say(text) {
      if (this.arriving.textContent !== text) this.arriving.textContent = text;
    }

    until(true_) {
      return new Promise((resolve) => {
        const end = Date.now() + 180000;
        const ask = () => (true_() || Date.now() > end ? resolve() : setTimeout(ask, 100));
        ask();
      });
    }
  }

  const STYLE = `
    .wb-gone > .jp-OutputArea-child:not(:has(.wb-still)) { display: none; }
    .wb-gone .wb-still { display: block !important; }
    .wb-notice, .wb-arriving {
      display: flex; gap: 12px; align-items: center; padding: 8px 12px;
      color: #22313a; background: #fbfaf6; border: 1px solid #c9c3b4; font: 14px/1.4 system-ui, sans-serif;
    }
    .wb-arriving {
      position: absolute; z-index: 10; left: 50%; top: 48px; transform: translateX(-50%);
      box-shadow: 0 2px 8px rgb(34 49 58 / 20%);
    }
    .wb-notice button {
      padding: 6px 14px; border: 1px solid #2f6f73; background: #2f6f73; color: #ffffff;
      font: inherit; cursor: pointer; border-radius: 3px;
    }`;

  const plugin = {
    id: "workbench:notebook",
    autoStart: true,
    requires: [],
    activate: (app) => {
      const desks = new Map();
      if (!app.shell || typeof app.shell.widgets !== "function") return;
      const style = document.createElement("style");
      style.textContent = STYLE;
      document.head.append(style);
      const attend = () => {
        for (const panel of app.shell.widgets("main")) {
          if (!isNotebook(panel)) continue;
          if (desks.has(panel)) {
            desks.get(panel).arriveIfWanted();
            continue;
          }
          desks.set(panel, new Desk(app, panel));
          panel.disposed.connect(() => desks.delete(panel));
        }
      };
      for (const name of ["layoutModified", "currentChanged"]) {
        if (app.shell[name]) app.shell[name].connect(attend);
      }
      app.restored.then(attend);
      // A notebook whose model came after its panel is seen a moment later.
      setInterval(attend, 400);
      // A link to a notebook that ends in #bench opens it there. JupyterLab resolves the link and
      // opens the notebook by this command, whatever it hangs on the link itself.
      app.commands.commandExecuted.connect((_sender, { id, args }) => {
        if (id !== "rendermime:handle-local-link" || args.id !== "#bench") return;
        wanted.add(args.path);
        attend();
      });
    },
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB[KEY] = {
    init: async () => {},
    get: async () => () => ({ __esModule: true, default: plugin }),
  };
})();
