// SPDX-License-Identifier: GPL-3.0-or-later
// The engineer's view: a stack, its curve, its callouts. The address bar holds the whole of it.
import { el, fill, figure, field, button, table, share, verdict, command, save, plainName, valueOf, limitOf, isAverage } from "./look.js";
import { Chart } from "./chart.js";
import { live, read, bytesOf } from "./talk.js";
import { Callouts } from "./callouts.js";
import { FIRST, address, fromAddress, layerOf, layerAsked, stackFile, calloutsOfFile } from "./state.js";
import { StackView } from "./stack.js";
import { Work } from "./work.js";

const QUANTITY = { R: "Reflectance", T: "Transmittance into the substrate", A: "Absorptance" };

export class DesignView {
  constructor(root, about) {
    this.root = root;
    this.about = about;
    this.state = structuredClone(FIRST);
    this.past = [];
    this.future = [];
    this.figures = null;
    this.effect = null;
    this.build();
  }

  open(query) {
    const state = fromAddress(query);
    if (state && JSON.stringify(state) !== JSON.stringify(this.state)) {
      if (this.shown) this.remember();
      this.state = state;
    }
    this.shown = true;
    this.draw();
  }

  // -- the page

  build() {
    this.chart = new Chart("Reflectance against wavelength", "Reflectance (%)");
    this.stack = new StackView(this);
    this.work = new Work(this);
    this.result = el("div", { "aria-live": "polite" });
    this.lines = el("div", {});
    this.incident = el("input", { list: "materials", size: 10, onchange: (e) => this.change((s) => { s.incident = e.target.value.trim(); }) });
    this.substrate = el("input", { list: "materials", size: 12, onchange: (e) => this.change((s) => { s.substrate = e.target.value.trim(); }) });
    this.aoi = el("input", { size: 10, inputmode: "decimal", onchange: (e) => this.changeAngles(e.target.value) });
    this.quantity = el("select", { onchange: (e) => this.change((state) => { state.quantity = e.target.value; }) },
      Object.entries(QUANTITY).map(([letter, words]) => el("option", { value: letter }, words)));
    this.from = this.numberField("from");
    this.to = this.numberField("to");
    this.step = this.numberField("step");
    this.callouts = new Callouts((words) => this.change((s) => { s.callouts = words; }));
    this.file = el("input", { type: "file", accept: ".csv,text/csv", hidden: true, onchange: () => this.openFile() });
    this.backFile = el("input", { type: "file", accept: ".csv,text/csv", hidden: true, onchange: () => this.openBack() });
    this.undoButton = button("Undo", () => this.undo());
    this.redoButton = button("Redo", () => this.redo());
    fill(this.root,
      el("h1", { id: "h-design" }, "Design"),
      el("p", { class: "lead" }, "Drag a border in the picture, or type a thickness: the curve and the callouts follow. Layer 1 is next to the substrate."),
      el("div", { class: "two" },
        el("div", {},
          el("div", { class: "sheet" }, this.result, this.chart.element, this.stack.picture,
            el("p", { class: "hint" }, "Substrate on the left, light comes from the right.")),
          el("div", { class: "sheet" }, el("h2", {}, "Callouts"), this.callouts.element, this.lines)),
        el("div", {},
          el("div", { class: "sheet" }, el("h2", {}, "Stack"),
            el("div", { class: "fields" }, field("Substrate", this.substrate), field("Light comes from", this.incident)),
            this.stack.rows,
            el("div", { class: "row" }, this.undoButton, this.redoButton,
              button("Add an outer layer", () => this.change((s) => s.layers.push({ material: s.layers.length ? s.layers[0].material : "MgF2", nm: 50, fixed: false })))),
            el("div", { class: "row" },
              button("Refine", () => this.work.refine(), { class: "main" }),
              button("Draft a new one", () => { this.work.draftForm.hidden = !this.work.draftForm.hidden; }),
              button("What 1 % does", () => this.work.sensitivity())),
            this.work.draftForm, this.work.news),
          el("div", { class: "sheet" }, el("h2", {}, "Curve"),
            el("div", { class: "fields" }, field("From (nm)", this.from), field("To (nm)", this.to), field("Step (nm)", this.step), field("Show", this.quantity), field("Angles of incidence (degrees)", this.aoi, "several with commas")),
            el("div", { class: "row" },
              button("Lay this one beneath", () => this.change((s) => { s.back = { layers: s.layers.map((l) => ({ ...l })), substrate: s.substrate, incident: s.incident }; })),
              button("Lay a stack file beneath", () => this.backFile.click()), this.backFile,
              this.dropBack = button("Take it away again", () => this.change((s) => { s.back = null; })))),
          el("div", { class: "sheet" }, el("h2", {}, "Files"),
            el("div", { class: "row" },
              button("Open a stack file", () => this.file.click()), this.file,
              button("Stack (CSV)", () => save("stack.csv", stackFile(this.state))),
              button("Spectrum (CSV)", () => this.work.takeSpectrum()),
              button("Picture (SVG)", () => this.work.takePicture("svg")),
              button("Picture (PDF)", () => this.work.takePicture("pdf"))),
            el("p", { class: "hint" }, "The address of this page holds the whole design: keep it as a bookmark, or mail it to yourself."),
            this.commandLine = el("div", {})))));
    addEventListener("keydown", (e) => this.shortcut(e));
  }

  numberField(name) {
    return el("input", { type: "number", min: 0, step: "any", onchange: (e) => this.change((s) => { s[name] = e.target.valueAsNumber; }) });
  }

  shortcut(event) {
    if (this.root.hidden || !(event.ctrlKey || event.metaKey) || /^(INPUT|TEXTAREA)$/.test(event.target.tagName)) return;
    if (event.key === "z" && !event.shiftKey) this.undo();
    else if (event.key === "y" || (event.key.toLowerCase() === "z" && event.shiftKey)) this.redo();
    else return;
    event.preventDefault();
  }

  // -- changes

  remember() {
    this.past.push(structuredClone(this.state));
    if (this.past.length > 300) this.past.shift();
    this.future = [];
  }

  change(how) {
    this.remember();
    how(this.state);
    this.effect = null;
    this.draw();
  }

  undo() {
    if (this.past.length === 0) return;
    this.future.push(structuredClone(this.state));
    this.state = this.past.pop();
    this.effect = null;
    this.draw();
  }

  redo() {
    if (this.future.length === 0) return;
    this.past.push(structuredClone(this.state));
    this.state = this.future.pop();
    this.effect = null;
    this.draw();
  }

  changeAngles(words) {
    const list = words.split(/[,;\s]+/).filter(Boolean).map(Number);
    if (list.length && list.every((a) => a >= 0 && a < 90)) this.change((s) => { s.aoi = list; });
    else this.draw();
  }

  // -- drawing

  draw() {
    const s = this.state;
    this.incident.value = s.incident;
    this.substrate.value = s.substrate;
    this.aoi.value = s.aoi.join(", ");
    this.from.value = s.from;
    this.to.value = s.to;
    this.step.value = s.step;
    this.quantity.value = s.quantity;
    this.callouts.set(s.callouts);
    this.undoButton.disabled = this.past.length === 0;
    this.redoButton.disabled = this.future.length === 0;
    this.dropBack.hidden = !s.back;
    this.stack.draw();
    history.replaceState(null, "", address(s));
    this.follow();
  }

  // -- figures: one request under way at a time, and the newest state after it

  body(state) {
    return {
      incident: state.incident, substrate: state.substrate, layers: state.layers.map(layerAsked),
      from_nm: this.state.from, to_nm: this.state.to, step_nm: this.state.step, aoi_deg: this.state.aoi,
      callouts: state.callouts || "",
    };
  }

  async follow() {
    this.asked = performance.now();
    if (this.busy) { this.again = true; return; }
    this.busy = true;
    do {
      this.again = false;
      const asked = this.asked;
      try {
        this.figures = await live(this.body(this.state));
        if (this.state.back) await this.computeBack();
        this.show();
        // the time from a move to its curve on the page, for whoever measures it
        this.chart.svg.dataset.milliseconds = (performance.now() - asked).toFixed(1);
      } catch (error) {
        fill(this.result, verdict("care", "Not computed", error.message));
      }
    } while (this.again);
    this.busy = false;
  }

  async computeBack() {
    const key = JSON.stringify([this.state.back, this.state.from, this.state.to, this.state.step, this.state.aoi]);
    if (this.backKey === key) return;
    this.backFigures = await live({ ...this.body({ ...this.state.back, callouts: "" }) });
    this.backKey = key;
  }

  show() {
    const { spectrum, check } = this.figures;
    const q = this.state.quantity, field = q + "_percent";
    const curves = spectrum.curves.map((c, i) => ({ name: q + " at " + c.aoi_deg + "\u00b0", y: c[field], style: "c" + (i % 4) }));
    if (this.state.back && this.backFigures)
      this.backFigures.spectrum.curves.forEach((c) => curves.push({ name: "beneath, " + c.aoi_deg + "\u00b0", y: c[field], style: "pinned" }));
    const limits = (check ? check.callouts : []).filter((c) => c.quantity === q && c.limit_percent !== null && c.scope === "surface").map((c) => ({
      from: c.from_nm, to: c.to_nm, level: c.limit_percent, sense: c.sense, average: isAverage(c) }));
    this.chart.yName = q === "T" ? "Transmittance (%)" : q === "A" ? "Absorptance (%)" : "Reflectance (%)";
    this.chart.show({ low: q === "T", x: spectrum.wavelength_nm, curves, limits });
    this.showCheck(check);
    this.showCommand();
  }

  showCheck(check) {
    if (!check) {
      fill(this.result, verdict("", "No callouts", "Type what the drawing asks for, below the picture."));
      fill(this.lines);
      return;
    }
    fill(this.result, verdict(check.pass ? "good" : "bad", check.pass ? "Meets every callout" : "Does not meet its callouts",
      "\u201c" + check.decisive.name + "\u201d decides: it uses " + figure(100 * check.limit_used, 4) + " % of its limit."));
    fill(this.lines, table("Callouts on " + this.state.substrate,
      ["Callout", { words: "Value %", number: true }, { words: "Limit %", number: true }, "Of the limit", { words: "Worst at nm", number: true }, { words: "deg", number: true }, ""],
      check.callouts.map((c) => [c.name, valueOf(c), limitOf(c), share(c.limit_used),
        c.at_nm === null ? "\u2013" : figure(c.at_nm, 4), figure(c.aoi_deg, 2), el("span", { class: c.pass ? "good-text" : "bad-text" }, c.pass ? "meets" : "FAILS")]), { class: "stacked" }));
  }

  calloutOptions() {
    return this.state.callouts.split("\n").map((w) => w.trim()).filter(Boolean).map((w) => ["callout", w]);
  }

  showCommand() {
    const quote = (w) => (/^[\w.,:=+%@/-]+$/.test(w) ? w : "'" + w.replaceAll("'", "'\\''") + "'");
    const words = ["bloomcoat", "check", "stack.csv", ...this.calloutOptions().flatMap(([, w]) => ["--callout", quote(w)])];
    if (this.about.shop) words.push("--shop", quote(this.about.shop));
    fill(this.commandLine, command(words.join(" ")));
  }

  async openFile() {
    const file = this.file.files[0];
    this.file.value = "";
    if (!file) return;
    try {
      const contents = await bytesOf(file), stack = await read("stack", plainName(file.name), contents);
      const callouts = calloutsOfFile(await file.text());
      this.change((s) => {
        s.incident = stack.incident;
        s.substrate = stack.substrate;
        s.layers = stack.layers.map((l) => layerOf(l, l.fixed));
        if (callouts) s.callouts = callouts;
      });
      fill(this.work.news, el("p", {}, "Opened " + file.name + "."));
    } catch (error) {
      fill(this.work.news, verdict("care", "Not opened", error.message));
    }
  }
  async openBack() {
    const file = this.backFile.files[0];
    this.backFile.value = "";
    if (!file) return;
    try {
      const stack = await read("stack", plainName(file.name), await bytesOf(file));
      this.change((s) => { s.back = { layers: stack.layers.map((l) => layerOf(l, false)), substrate: stack.substrate, incident: stack.incident }; });
    } catch (error) {
      fill(this.work.news, verdict("care", "Not opened", error.message));
    }
  }
}
