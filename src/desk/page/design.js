// SPDX-License-Identifier: GPL-3.0-or-later
// The engineer's view: a stack, its curve, its callouts. The address bar holds the whole of it.
import { el, svg, fill, add, figure, field, checkbox, button, table, share, verdict, command, save, plainName } from "./look.js";
import { Chart } from "./chart.js";
import { live, run, read, bytesOf, bytesOfText, complaint, text, resultAddress } from "./talk.js";
import { Callouts } from "./callouts.js";

const FIRST = {
  incident: "air", substrate: "517642",
  layers: [["Al2O3", 75.211], ["Ta2O5", 109.445], ["Al2O3", 29.864], ["MgF2", 75.575]].map(([material, nm]) => ({ material, nm, fixed: false })),
  callouts: "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg", aoi: [0, 30], from: 400, to: 700, step: 1, quantity: "R", back: null,
};
const THINNEST = 0.1;
const QUANTITY = { R: "Reflectance", T: "Transmittance into the substrate", A: "Absorptance" };

// -- the state as an address and as a file

export function address(state) {
  const p = new URLSearchParams();
  p.set("incident", state.incident);
  p.set("layers", state.layers.map((l) => l.material + ":" + l.nm + (l.fixed ? "!" : "")).join(","));
  p.set("substrate", state.substrate);
  p.set("callouts", state.callouts);
  p.set("aoi", state.aoi.join(","));
  p.set("nm", [state.from, state.to, state.step].join(","));
  if (state.quantity !== "R") p.set("show", state.quantity);
  if (state.back) p.set("beside", state.back.layers.map((l) => l.material + ":" + l.nm).join(",") + ";" + state.back.substrate);
  return "#design?" + p.toString();
}

function layersOf(words) {
  return (words || "").split(",").filter(Boolean).map((part) => {
    const [material, nm] = part.split(":");
    return { material, nm: parseFloat(nm), fixed: part.endsWith("!") };
  }).filter((l) => l.material && Number.isFinite(l.nm));
}

export function fromAddress(query) {
  const p = new URLSearchParams(query);
  if (!p.has("layers")) return null;
  const numbers = (name, otherwise) => {
    const list = (p.get(name) || "").split(",").map(Number);
    return p.get(name) && list.every(Number.isFinite) ? list : otherwise;
  };
  const [from, to, step] = numbers("nm", [FIRST.from, FIRST.to, FIRST.step]);
  const [beside, glass] = (p.get("beside") || "").split(";");
  return {
    incident: p.get("incident") || "air", substrate: p.get("substrate") || FIRST.substrate, layers: layersOf(p.get("layers")),
    callouts: p.get("callouts") || "", aoi: numbers("aoi", FIRST.aoi), from, to, step,
    quantity: ["T", "A"].includes(p.get("show")) ? p.get("show") : "R",
    back: beside ? { layers: layersOf(beside), substrate: glass, incident: p.get("incident") || "air" } : null,
  };
}

export function stackFile(state) {
  const rows = ["# made on bloomcoat's desk", ...(state.callouts || "").split("\n").map((line) => "# callouts: " + line),
    "role,material,thickness_nm,fixed", "substrate," + state.substrate + ",,"];
  for (const l of state.layers) rows.push("layer," + l.material + "," + l.nm + "," + (l.fixed ? "yes" : ""));
  rows.push("incident," + state.incident + ",,");
  return rows.join("\n") + "\n";
}

// What the desk itself wrote into a stack file beside the stack.
const calloutsOfFile = (words) => words.split("\n").filter((l) => l.startsWith("# callouts: ")).map((l) => l.slice(12).trim()).join("\n");

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
    this.picture = svg("svg", { class: "layers", role: "group", "aria-label": "The stack as a picture: borders can be dragged, or moved with the arrow keys" });
    this.rows = el("div", {});
    this.result = el("div", { "aria-live": "polite" });
    this.lines = el("div", {});
    this.news = el("div", { "aria-live": "polite" });
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
    this.undoButton = button("Undo", () => this.undo());
    this.redoButton = button("Redo", () => this.redo());
    fill(this.root,
      el("h1", { id: "h-design" }, "Design"),
      el("p", { class: "lead" }, "Drag a border in the picture, or type a thickness: the curve and the callouts follow. Layer 1 is next to the substrate."),
      el("div", { class: "two" },
        el("div", {},
          el("div", { class: "sheet" }, this.result, this.chart.element, this.picture,
            el("p", { class: "hint" }, "Substrate on the left, light comes from the right.")),
          el("div", { class: "sheet" }, el("h2", {}, "Callouts"), this.callouts.element, this.lines)),
        el("div", {},
          el("div", { class: "sheet" }, el("h2", {}, "Stack"),
            el("div", { class: "fields" }, field("Substrate", this.substrate), field("Light comes from", this.incident)),
            this.rows,
            el("div", { class: "row" }, this.undoButton, this.redoButton,
              button("Add an outer layer", () => this.change((s) => s.layers.push({ material: s.layers.length ? s.layers[0].material : "MgF2", nm: 50, fixed: false })))),
            el("div", { class: "row" },
              button("Refine", () => this.refine(), { class: "main" }),
              button("Draft a new one", () => { this.draftForm.hidden = !this.draftForm.hidden; }),
              button("What 1 % does", () => this.sensitivity())),
            this.makeDraftForm(), this.news),
          el("div", { class: "sheet" }, el("h2", {}, "Curve"),
            el("div", { class: "fields" }, field("From (nm)", this.from), field("To (nm)", this.to), field("Step (nm)", this.step), field("Show", this.quantity), field("Angles of incidence (degrees)", this.aoi, "several with commas")),
            el("div", { class: "row" },
              button("Lay this one beneath", () => this.change((s) => { s.back = { layers: s.layers.map((l) => ({ ...l })), substrate: s.substrate, incident: s.incident }; })),
              this.dropBack = button("Take it away again", () => this.change((s) => { s.back = null; })))),
          el("div", { class: "sheet" }, el("h2", {}, "Files"),
            el("div", { class: "row" },
              button("Open a stack file", () => this.file.click()), this.file,
              button("Stack (CSV)", () => save("stack.csv", stackFile(this.state))),
              button("Spectrum (CSV)", () => this.takeSpectrum()),
              button("Picture (SVG)", () => this.takePicture("svg")),
              button("Picture (PDF)", () => this.takePicture("pdf"))),
            el("p", { class: "hint" }, "The address of this page holds the whole design: keep it as a bookmark, or mail it to yourself."),
            this.commandLine = el("div", {})))));
    addEventListener("keydown", (e) => this.shortcut(e));
    new ResizeObserver(() => { if (!this.drag) this.drawPicture(); }).observe(this.rows);
  }

  numberField(name) {
    return el("input", { type: "number", min: 0, step: "any", onchange: (e) => this.change((s) => { s[name] = e.target.valueAsNumber; }) });
  }

  makeDraftForm() {
    this.materials = el("input", { size: 24, value: "MgF2,Al2O3,Ta2O5" });
    this.most = el("input", { type: "number", min: 1, max: 40, value: "8" });
    this.draftForm = el("div", { class: "offer", hidden: true },
      el("div", { class: "fields" }, field("Layer materials", this.materials, "with commas"), field("At most so many layers", this.most)),
      el("div", { class: "row" }, button("Draft", () => this.draft(), { class: "main" })));
    return this.draftForm;
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
    this.drawRows();
    this.drawPicture();
    history.replaceState(null, "", address(s));
    this.follow();
  }

  drawRows() {
    const s = this.state, last = s.layers.length - 1;
    const focus = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.place : null;
    const edit = (i, name, how) => (e) => this.change((state) => how(state.layers, e, i, name));
    const rows = s.layers.map((l, i) => {
      const n = i + 1, of = " of layer " + n;
      const lock = checkbox("", l.fixed, edit(i, "fixed", (layers, e) => { layers[i].fixed = e.target.checked; }));
      lock.box.setAttribute("aria-label", "Keep the thickness" + of);
      const act = (words, name, how, off) => button(words, () => this.change((state) => how(state.layers)), { class: "small", "aria-label": name + of, title: name, disabled: off, "data-place": name + i });
      return [String(n),
        el("input", { class: "material", list: "materials", value: l.material, "aria-label": "Material" + of, "data-place": "m" + i, onchange: edit(i, "m", (layers, e) => { layers[i].material = e.target.value.trim(); }) }),
        el("input", { type: "number", min: THINNEST, step: "any", value: String(l.nm), "aria-label": "Thickness in nm" + of, "data-place": "t" + i,
          onchange: edit(i, "t", (layers, e) => { if (e.target.valueAsNumber > 0) layers[i].nm = e.target.valueAsNumber; }) }),
        lock.label,
        this.effect ? figure(100 * this.effect[i], 3) : "",
        [act("\u2191", "Swap with the layer above", (x) => { [x[i], x[i + 1]] = [x[i + 1], x[i]]; }, i === last),
          act("+", "Insert a layer above", (x) => x.splice(i + 1, 0, { material: x[i ? i - 1 : last].material, nm: 20, fixed: false })),
          act("\u00f7", "Split in two", (x) => { const half = x[i].nm / 2; x[i].nm = half; x.splice(i + 1, 0, { ...x[i], nm: half }); }),
          act("\u222a", "Merge with the layer above", (x) => { x[i].nm = +(x[i].nm + x[i + 1].nm).toPrecision(12); x.splice(i + 1, 1); }, i === last),
          act("\u00d7", "Delete", (x) => x.splice(i, 1))]];
    });
    fill(this.rows, s.layers.length ? table("Layers in order of deposition, " + figure(s.layers.reduce((sum, l) => sum + l.nm, 0), 5) + " nm in all",
      [{ words: "Layer", number: true }, "Material", "nm", "Kept", { words: this.effect ? "1 % adds (points)" : "", number: true }, ""], rows, { class: "stacked layer-table" }) : el("p", {}, "No layers: the bare surface."));
    if (focus) {
      const again = this.rows.querySelector("[data-place='" + focus + "']");
      if (again) again.focus();
    }
  }

  // The stack to scale; each layer's outer border is a slider.
  drawPicture() {
    const s = this.state, width = Math.max(260, this.picture.clientWidth || 600), height = 96, glass = 46, air = 30;
    const total = this.drag ? this.drag.total : Math.max(1, s.layers.reduce((sum, l) => sum + l.nm, 0));
    const scale = (width - glass - air) * 0.94 / total, names = [...new Set(s.layers.map((l) => l.material))];
    const focus = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.border : undefined;
    const parts = [svg("rect", { class: "glass", x: 0, y: 0, width: glass, height }), svg("text", { x: 3, y: 16 }, s.substrate.slice(0, 6))];
    const borders = [];
    let x = glass;
    s.layers.forEach((l, i) => {
      const w = Math.max(0.5, l.nm * scale);
      parts.push(svg("rect", { class: "edge m" + (names.indexOf(l.material) % 6), x, y: 0, width: w, height }));
      if (w > 34) parts.push(svg("text", { x: x + 4, y: 16 + 15 * (i % 2) }, l.material), svg("text", { x: x + 4, y: 76 - 0 * i }, figure(l.nm, 4)));
      x += w;
      const handle = svg("g", { tabindex: 0, role: "slider", "data-border": i, "aria-label": "Layer " + (i + 1) + ", " + l.material + ", thickness in nm",
        "aria-valuenow": l.nm, "aria-valuemin": THINNEST, "aria-valuemax": 5000, "aria-valuetext": figure(l.nm, 5) + " nm" },
      svg("line", { class: "border", x1: x, x2: x, y1: 0, y2: height }), svg("rect", { class: "grip", x: x - 9, y: 0, width: 18, height }));
      handle.addEventListener("pointerdown", (e) => this.beginDrag(e, i, scale));
      handle.addEventListener("keydown", (e) => this.nudge(e, i));
      borders.push(handle);
    });
    this.picture.setAttribute("viewBox", "0 0 " + width + " " + height);
    fill(this.picture, parts, borders);
    if (focus !== undefined && borders[focus]) borders[focus].focus();
  }

  beginDrag(event, i, scale) {
    const layer = this.state.layers[i];
    event.preventDefault();
    this.remember();
    this.drag = { i, x: event.clientX, nm: layer.nm, total: Math.max(1, this.state.layers.reduce((sum, l) => sum + l.nm, 0)),
      perPixel: (this.picture.viewBox.baseVal.width / this.picture.getBoundingClientRect().width) / scale };
    const move = (e) => {
      layer.nm = Math.max(THINNEST, +(this.drag.nm + (e.clientX - this.drag.x) * this.drag.perPixel).toFixed(1));
      this.drawPicture();
      const typed = this.rows.querySelector("[data-place='t" + i + "']");
      if (typed) typed.value = layer.nm;
      this.follow();
    };
    const end = () => {
      removeEventListener("pointermove", move);
      removeEventListener("pointerup", end);
      removeEventListener("pointercancel", end);
      this.drag = null;
      this.effect = null;
      this.draw();
    };
    addEventListener("pointermove", move);
    addEventListener("pointerup", end);
    addEventListener("pointercancel", end);
  }

  nudge(event, i) {
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!by) return;
    event.preventDefault();
    this.change((s) => { s.layers[i].nm = Math.max(THINNEST, +(s.layers[i].nm + by * (event.shiftKey ? 0.1 : 1)).toPrecision(12)); });
  }

  // -- figures: one request under way at a time, and the newest state after it

  body(state) {
    return {
      incident: state.incident, substrate: state.substrate, layers: state.layers.map((l) => ({ material: l.material, thickness_nm: l.nm })),
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
    const limits = (check ? check.callouts : []).filter((c) => c.quantity === q && c.scope === "surface").map((c) => ({
      from: c.from_nm, to: c.to_nm, level: c.limit_percent, sense: c.sense, average: c.statistic === "average" || c.statistic === "mean" }));
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
      check.callouts.map((c) => [c.name, figure(c.value_percent, 4), c.sense + " " + c.limit_percent, share(c.limit_used),
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

  // -- commands

  async request(name, options, extra = {}) {
    return { command: name, operands: ["stack.csv"], files: { "stack.csv": await bytesOfText(stackFile(this.state)) },
      options: [...this.calloutOptions(), ["json", null], ...options], ...extra };
  }

  // Run one with its progress, and give its result to `take`; what went wrong is said.
  async work(words, body, take) {
    const says = el("span", {}, words);
    let line = null;
    if (this.job) this.job.cancel();
    const job = this.job = run(body, { progress: (now) => { says.textContent = now; }, command: (c) => { line = c; } });
    fill(this.news, el("div", { class: "working" }, says, button("Stop with the best so far", () => job.stop(), { class: "small" })));
    try {
      const result = await job.done;
      fill(this.news);
      if (result.exit > 1) fill(this.news, verdict("care", "Not done", complaint(result)));
      else await take(result, line);
    } catch (error) {
      if (error.name !== "AbortError") fill(this.news, verdict("care", "Not done", error.message));
    }
    if (this.job === job) this.job = null;
  }

  takeLayers(result, line, words) {
    this.change((s) => { s.layers = result.out.layers.map((l) => ({ material: l.material, nm: l.thickness_nm, fixed: !!l.fixed })); });
    fill(this.news, verdict(result.out.pass ? "good" : "care", words, "It uses " + figure(100 * result.out.limit_used, 4) + " % of the tightest limit. Undo brings the one before back."), command(line));
  }

  async refine() {
    await this.work("Refining", await this.request("refine", []), (r, line) => this.takeLayers(r, line, "Refined"));
  }

  async draft() {
    const body = { command: "draft", operands: [], files: {}, options: [...this.calloutOptions(), ["substrate", this.state.substrate],
      ["incident", this.state.incident], ["materials", this.materials.value.replace(/\s+/g, "")], ["max-layers", String(this.most.value)], ["prove", "0"], ["json", null]] };
    await this.work("Searching", body, (r, line) => this.takeLayers(r, line, "Drafted: " + r.out.layers.length + " layers"));
  }

  async sensitivity() {
    await this.work("Computing", await this.request("sensitivity", []), (r, line) => {
      const base = r.out.limit_used;
      this.effect = r.out.layers.map((l) => Math.max(l.thickness_1_percent.limit_used_less, l.thickness_1_percent.limit_used_more) - base);
      this.drawRows();
      fill(this.news, verdict("", r.out.decisive_layer === null ? "No layers" : "Layer " + r.out.decisive_layer + " decides",
        "1 % of its thickness costs most. The table has, for each layer, by how many points the share of the tightest limit rises when that layer alone is 1 % off."), command(line));
    });
  }

  async takeSpectrum() {
    const s = this.state;
    const body = { command: "spectrum", operands: ["stack.csv"], files: { "stack.csv": await bytesOfText(stackFile(s)) }, results: ["spectrum.csv"],
      options: [["from", String(s.from)], ["to", String(s.to)], ["step", String(s.step)], ["aoi", s.aoi.join(",")], ["o", "spectrum.csv"]] };
    await this.work("Computing", body, async (r, line) => {
      save("spectrum.csv", await text(resultAddress(r, "spectrum.csv")));
      fill(this.news, command(line));
    });
  }

  async takePicture(kind) {
    const name = "stack." + kind;
    await this.work("Drawing", await this.request("check", [["plot", name]], { results: [name] }), (r, line) => {
      fill(this.news, el("p", {}, el("a", { href: resultAddress(r, name) + "?download", download: name }, "Save " + name)), command(line));
      this.news.querySelector("a").click();
    });
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
        s.layers = stack.layers.map((l) => ({ material: l.material, nm: l.thickness_nm, fixed: l.fixed }));
        if (callouts) s.callouts = callouts;
      });
      fill(this.news, el("p", {}, "Opened " + file.name + "."));
    } catch (error) {
      fill(this.news, verdict("care", "Not opened", error.message));
    }
  }
}
