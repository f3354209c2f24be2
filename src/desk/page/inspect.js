// SPDX-License-Identifier: GPL-3.0-or-later
// The inspector's view: scans dropped here, how each was read, the verdict, what the run did, and what to change.
import { el, fill, figure, field, button, table, verdict, command, plainName, today, valueOf, limitOf, isAverage } from "./look.js";
import { run, complaint, resultAddress, bytesOf, bytesOfText } from "./talk.js";
import { Callouts } from "./callouts.js";
import { Chart } from "./chart.js";
import { stackFile } from "./state.js";

const REPORTS = ["certificate.html", "certificate.pdf", "internal.html", "next-stack.csv", "next-process.csv"];
const TONE = { accept: "good", reject: "bad", undecided: "care" };
const WORD = { accept: "Accepted", reject: "Rejected", undecided: "Undecided" };

// What the reader of a file may ask, and what may be answered.
const ANSWERS = {
  unit: [["percent", "Percent"], ["fraction", "Fractions, 0 to 1"]],
  quantity: [["R", "Reflectance"], ["T", "Transmittance"]],
  decimal: [["point", "A decimal point: 1.5"], ["comma", "A decimal comma: 1,5"]],
  "wavelength-unit": [["nm", "nm"], ["um", "\u00b5m"]],
  separator: [["comma", "Comma"], ["semicolon", "Semicolon"], ["tab", "Tab"], ["space", "Blank"]],
  scan: [["all", "All of them: repeats of one sample"], ["1", "The first"], ["2", "The second"], ["3", "The third"]],
  polarization: [["unpolarized", "Unpolarized"], ["s", "s"], ["p", "p"]],
};

export class InspectView {
  constructor(root, about, design) {
    this.root = root;
    this.about = about;
    this.design = design;
    this.scans = [];
    this.answers = [];
    this.stack = null;
    this.build();
  }

  build() {
    this.chart = new Chart("Measured, designed and fitted reflectance", "R (%)");
    this.picker = el("input", { type: "file", multiple: true, accept: ".txt,.csv,.asc,.dat,.prn,text/*", class: "unseen", id: "scans", onchange: () => this.take([...this.picker.files]) });
    this.drop = el("div", { class: "drop" }, el("p", {}, "Drop the scans here, one or the whole lot,"), el("label", { class: "pick", for: "scans" }, "or choose files"), this.picker);
    for (const name of ["dragenter", "dragover"]) this.drop.addEventListener(name, (e) => { e.preventDefault(); this.drop.classList.add("over"); });
    for (const name of ["dragleave", "drop"]) this.drop.addEventListener(name, () => this.drop.classList.remove("over"));
    this.drop.addEventListener("drop", (e) => { e.preventDefault(); this.take([...e.dataTransfer.files]); });
    this.list = el("div", {});
    this.stackPicker = el("input", { type: "file", accept: ".csv,text/csv", class: "unseen", id: "stack-of-scan", onchange: () => this.takeStack() });
    this.stackSays = el("span", { class: "hint" }, "none yet");
    this.callouts = new Callouts(() => {}, true);
    this.aoi = el("input", { type: "number", min: 0, max: 89, step: "any" });
    this.uncertainty = el("input", { type: "number", min: 0, step: "any" });
    this.part = el("input", { size: 16 });
    this.certificate = el("input", { size: 16 });
    this.status = el("div", { "aria-live": "polite" });
    this.result = el("div", {});
    fill(this.root, el("h1", { id: "h-inspect" }, "Inspect"),
      el("p", { class: "lead" }, "A measured witness or part, held against its design and its drawing."),
      el("div", { class: "two answers" },
        el("div", {},
          el("div", { class: "sheet" }, el("h2", {}, "Scans"), this.drop, this.list),
          el("div", { class: "sheet" }, el("h2", {}, "What it should be"),
            el("div", { class: "row" }, el("label", { class: "pick", for: "stack-of-scan" }, "Open the stack file"), this.stackPicker,
              button("Take the one of Design", () => this.takeDesign()), this.stackSays),
            el("p", { class: "label" }, "Callouts of the drawing"), this.callouts.element),
          el("div", { class: "sheet" }, el("h2", {}, "The measurement"),
            el("div", { class: "fields" }, field("Angle of incidence (degrees)", this.aoi, "empty: what the file says"),
              field("Uncertainty (% absolute, k = 2)", this.uncertainty, this.about.shop ? "empty: what shop.csv says" : "of the instrument, as its certificate gives it"),
              field("Part number", this.part), field("Certificate number", this.certificate)),
            el("div", { class: "row" }, button("Judge", () => this.judge(), { class: "main" }),
              button("Control chart", () => this.controlChart(), { title: "of the dropped scans, or of the runs in the record" })))),
        el("div", {}, this.status, this.result)));
  }

  open() {}

  async take(files) {
    for (const file of files.slice(0, 40)) {
      if (file.size > 4e6) {
        fill(this.status, verdict("care", "Too large", file.name + " has more than 4 MB: it is hardly a scan."));
        continue;
      }
      this.scans.push({ shown: file.name, name: plainName(file.name, this.scans.map((s) => s.name).concat("stack.csv")), bytes: await bytesOf(file) });
    }
    this.picker.value = "";
    this.answers = [];
    this.showScans();
    if (this.stack) this.judge();
  }

  showScans() {
    fill(this.list, this.scans.length > 0 && table(this.scans.length + (this.scans.length === 1 ? " scan" : " scans, in the order of their runs"), ["File", ""],
      this.scans.map((s, i) => [s.shown + (s.shown === s.name ? "" : " (as " + s.name + ")"),
        button("Take away", () => { this.scans.splice(i, 1); this.showScans(); }, { class: "small", "aria-label": "Take away " + s.shown })])),
    this.answers.length > 0 && el("p", { class: "hint" }, "Answered: " + this.answers.map(([name, value]) => name + " " + (value || "yes")).join(", ") + ". ",
      button("Ask again", () => { this.answers = []; this.showScans(); this.judge(); }, { class: "small" })));
  }

  async takeStack() {
    const file = this.stackPicker.files[0];
    this.stackPicker.value = "";
    if (!file) return;
    this.stack = await bytesOf(file);
    this.stackSays.textContent = file.name;
    const words = (await file.text()).split("\n").filter((l) => l.startsWith("# callouts: ")).map((l) => l.slice(12)).join("\n");
    if (words && !this.callouts.box.value) this.callouts.set(words);
    if (this.scans.length) this.judge();
  }

  async takeDesign() {
    const state = this.design.state;
    this.stack = await bytesOfText(stackFile(state));
    this.stackSays.textContent = state.layers.map((l) => l.material).join(", ") + " on " + state.substrate;
    if (!this.callouts.box.value) this.callouts.set(state.callouts);
    if (this.scans.length) this.judge();
  }

  request() {
    const files = { "stack.csv": this.stack }, options = [["stack", "stack.csv"]];
    for (const s of this.scans) files[s.name] = s.bytes;
    for (const line of this.callouts.box.value.split("\n")) if (line.trim()) options.push(["callout", line.trim()]);
    if (this.aoi.value !== "") options.push(["aoi", this.aoi.value]);
    if (this.uncertainty.value !== "") options.push(["uncertainty-percent", this.uncertainty.value]);
    if (this.part.value.trim()) options.push(["part-number", this.part.value.trim()]);
    if (this.certificate.value.trim()) options.push(["certificate-number", this.certificate.value.trim()]);
    options.push(...this.answers, ["from-fit", null], ["date", today()], ["report", REPORTS[0]], ["report", REPORTS[1]], ["internal-report", REPORTS[2]], ["json", null]);
    if (this.scans.length === 1) options.push(["next-stack", REPORTS[3]]);
    if (this.about.process) options.push(["next-process", REPORTS[4]]);
    if (this.about.shop) options.push(["record", null]);
    return { command: "inspect", operands: this.scans.map((s) => s.name), files, results: REPORTS, options };
  }

  async judge() {
    if (!this.scans.length || !this.stack) {
      fill(this.status, verdict("care", "Something is missing", !this.scans.length ? "Drop a scan first." : "Open the stack file: the design that the scan is held against."));
      return;
    }
    if (this.job) this.job.cancel();
    let line = "";
    const says = el("span", { "aria-live": "off" }, "Reading and fitting");
    const job = this.job = run(this.request(), { progress: (now) => { says.textContent = now; }, command: (c) => { line = c; } });
    fill(this.status, el("div", { class: "sheet working" }, says));
    fill(this.result);
    try {
      const result = await job.done;
      if (result.exit > 1 || !result.out) this.question(complaint(result));
      else this.show(result, line);
    } catch (error) {
      if (error.name !== "AbortError") fill(this.status, verdict("care", "Not judged", error.message));
    }
    if (this.job === job) this.job = null;
  }

  // What the reader asks becomes buttons.
  question(words, again = () => this.judge()) {
    const asked = words.split("; expected").slice(1).join(" ") || words;
    const choices = [];
    const answer = (list, says) => choices.push(button(says, () => { this.answers.push(...list); this.showScans(); again(); }));
    if (asked.includes("--column")) {
      const columns = [...words.matchAll(/(\d+) '([^']*)'/g)].map(([, number, head]) => ({ number, head }));
      for (const c of columns) answer([["column", c.number]], "Column " + c.number + ": " + c.head);
      if (columns.length > 1) answer(columns.map((c) => ["column", c.number]), "All " + columns.length + ": repeats, to be averaged");
    }
    for (const [name, list] of Object.entries(ANSWERS))
      if (new RegExp("--" + name + "(?![a-z-])").test(asked)) for (const [value, says] of list) answer([[name, value]], says);
    if (asked.includes("--overrule")) answer([["overrule", null]], "What is said here counts");
    fill(this.status, verdict("care", choices.length ? "A question about the file" : "Not judged", ...words.split("\n")), choices.length > 0 && el("div", { class: "row" }, choices));
  }

  show(result, line) {
    const j = result.out, many = j.witnesses || null;
    const link = (name, words) => result.results.includes(name) && el("li", {}, el("a", { href: resultAddress(result, name) + (name.endsWith("html") ? "" : "?download"), target: name.endsWith("html") ? "_blank" : null }, words));
    fill(this.status, verdict(TONE[j.verdict], WORD[j.verdict], j.decisive && "\u201c" + j.decisive.name + "\u201d decides.", j.held_text,
      many && j.lot.accepted + " accepted, " + j.lot.rejected + " rejected, " + j.lot.undecided + " undecided."));
    this.details = el("div", {});
    fill(this.result,
      many && el("div", { class: "sheet" }, el("h2", {}, "The lot"), table("Each witness", ["Scan", "Verdict", { words: "Layers thicker by %", number: true }, { words: "From the design, % rms", number: true }, ""],
        many.map((w) => [w.measured.path, el("span", { class: TONE[w.verdict] + "-text" }, WORD[w.verdict]), figure(w.scale_percent, 3), figure(w.rms_percent, 3),
          button("Look", () => this.showOne(w), { class: "small", "aria-label": "Look at " + w.measured.path })]), { class: "stacked" })),
      this.details,
      el("div", { class: "sheet" }, el("h2", {}, "To send and to keep"),
        el("ul", {}, link("certificate.html", { accept: "Certificate", reject: "Report of nonconformity" }[j.verdict] || "Page for the customer"), link("certificate.pdf", "the same as PDF"), link("internal.html", "Report for the house, with everything in words"),
          link("next-stack.csv", "Stack for the next run, for unchanged tooling factors (CSV)"), link("next-process.csv", "Process with tooling for the next run (CSV)")),
        (/^bloomcoat: (recorded.*)$/m.exec(result.said) || []).slice(1).map((w) => el("p", { class: "hint" }, w)),
        el("details", {}, el("summary", {}, "The report for the house"), result.results.includes("internal.html") && el("iframe", { title: "Report for the house", src: resultAddress(result, "internal.html"), loading: "lazy" })),
        command(line)),
      el("div", { class: "sheet" }, el("h2", {}, "Cautions"), j.cautions.map((w) => el("p", { class: "hint" }, w))));
    this.showOne(many ? many.find((w) => w.verdict === j.verdict) || many[0] : j);
  }

  showOne(w) {
    const o = w.overlay;
    fill(this.details,
      el("div", { class: "sheet" }, el("h2", {}, "How " + w.measured.path + " was read"), this.readTable(w.measured)),
      el("div", { class: "sheet" }, el("h2", {}, "Callouts"), table("On " + w.measured.substrate,
        ["Callout", { words: "Value %", number: true }, { words: "\u00b1 %", number: true }, { words: "Limit %", number: true }, "Verdict"],
        w.callouts.map((c) => [c.name, valueOf(c), figure(c.limit_percent === null ? c.uncertainty : c.uncertainty_percent, 2), limitOf(c),
          [el("span", { class: TONE[c.verdict] + "-text" }, c.verdict === "accept" ? "accept" : c.verdict.toUpperCase()), c.text ? ": " + c.text : ""]]), { class: "stacked" })),
      el("div", { class: "sheet" }, el("h2", {}, "The curve"), this.chart.element,
        el("p", { class: "hint" }, "From the design by " + figure(o.rms_percent, 3) + " % rms, most at " + figure(o.worst_nm, 4) + " nm; from the fitted stack by " + figure(o.rms_fitted_percent, 3) + " % rms.")),
      el("div", { class: "sheet" }, el("h2", {}, "What the run did"), this.cause(w),
        table("Layers in order of deposition", [{ words: "Layer", number: true }, "Material", { words: "Design nm", number: true }, { words: "Fitted nm", number: true }, { words: "\u00b1 nm", number: true }, { words: "Change %", number: true }, ""],
          w.layers.map((l, i) => ({ marked: l.off, cells: [String(i + 1), l.material, figure(l.design_nm, 5), figure(l.fitted_nm, 5), figure(l.uncertainty_nm, 2),
            l.fitted_nm === null ? "\u2013" : figure(100 * (l.fitted_nm / l.design_nm - 1), 3), l.off ? el("strong", {}, "off") : l.known ? "" : "not known"] })), { class: "stacked" })));
    this.chart.show({ x: o.wavelength_nm, curves: [{ name: "measured", y: o.measured_percent, dots: true, style: "dots" }, { name: "design", y: o.design_percent, style: "c1" },
      { name: "fitted stack", y: o.fitted_percent, style: "c0" }],
    limits: w.callouts.filter((c) => c.quantity === o.quantity && c.limit_percent !== null && c.scope === "surface").map((c) => ({ from: c.from_nm, to: c.to_nm, level: c.limit_percent, sense: c.sense, average: isAverage(c) })) });
  }

  readTable(m) {
    const rows = [];
    for (const q of ["R", "T"]) {
      const r = m[q];
      if (!r) continue;
      rows.push([q === "R" ? "Reflectance" : "Transmittance", m.quantity_stated],
        ["Columns, lines", "column " + r.columns.join(", ") + "; lines " + r.first_line + " to " + r.last_line + (r.scans > 1 ? "; " + r.scans + " scans" : "") + (r.rows_left_out ? "; " + r.rows_left_out + " rows left out" : "")],
        ["Values in " + r.unit, r.unit_stated], ["Wavelengths in " + r.wavelength_unit, r.wavelength_unit_stated]);
    }
    rows.push(["Angle: " + m.aoi_deg + " degrees", m.aoi_stated], ["Light: " + m.polarization, m.polarization_stated], ["Second surface: " + m.back, ""],
      ["Uncertainty: " + m.uncertainty_percent + " % absolute, k = " + m.coverage_factor, "wavelengths " + m.wavelength_uncertainty_nm + " nm, scale " + m.scale_uncertainty_percent + " % of the value"]);
    return table("As the file was understood", ["What", "How that is known"], rows);
  }

  cause(w) {
    const c = w.cause;
    if (!c) return el("p", {}, "No single cause explains the scan better than the design with its random errors.");
    const where = c.layers.length ? "layer " + c.layers.join(", ") + (c.material ? " (" + c.material + ")" : "") : c.material || "";
    const size = c.size === null || c.size === undefined ? "" : ", by " + figure(c.size, 3) + " " + ({ percent: "%" }[c.size_unit] || c.size_unit || "");
    return el("p", {}, el("strong", {}, "Likeliest cause: " + (c.kind === "layer" ? where + " is off" : c.kind + (where ? ", " + where : "")) + size + "."),
      c.odds ? " " + figure(c.odds, 3) + " times likelier than the next." : "");
  }
  // Of the scans that were dropped, in the order of their runs; without scans of the runs in the shop's record.
  async controlChart() {
    const body = { command: "process", operands: ["chart"], files: {}, results: ["chart.svg"], options: [["plot", "chart.svg"], ["json", null]] };
    if (this.scans.length && this.stack) {
      const judged = this.request();
      body.operands.push(...judged.operands);
      body.files = judged.files;
      body.options.push(...judged.options.filter(([name]) => ["stack", "callout", "aoi", "uncertainty-percent", ...Object.keys(ANSWERS), "column"].includes(name)));
    }
    if (this.job) this.job.cancel();
    let line = "";
    const job = this.job = run(body, { command: (c) => { line = c; } });
    fill(this.status, el("div", { class: "sheet working" }, "Drawing the control chart"));
    try {
      const result = await job.done;
      if (!result.results.includes("chart.svg")) {
        this.question(complaint(result), () => this.controlChart());
        return;
      }
      fill(this.status, verdict(result.exit === 1 ? "bad" : "good", result.exit === 1 ? "The last run is in an alarm" : "No alarm at the last run"),
        el("div", { class: "sheet" }, el("h2", {}, "Control chart"), el("img", { class: "picture", src: resultAddress(result, "chart.svg"), alt: "Control charts, run by run; the command line below gives their values" }),
          el("p", {}, el("a", { href: resultAddress(result, "chart.svg") + "?download" }, "Take the picture (SVG)")), command(line)));
    } catch (error) {
      if (error.name !== "AbortError") fill(this.status, verdict("care", "No control chart", error.message));
    }
    if (this.job === job) this.job = null;
  }
}
