// SPDX-License-Identifier: GPL-3.0-or-later
// Two of a kind beside each other: index tables, standard coatings, entries of the record.
import { el, fill, figure, field, button, table, save, plainName } from "./look.js";
import { run, live, text, complaint, resultAddress } from "./talk.js";
import { Chart } from "./chart.js";
import { address, inWords, layerOf, layerAsked, stackFile } from "./state.js";

const NAMES = { tables: "Index tables", standards: "Standard coatings", record: "Entries of the record" };

async function ask(command, operands, options = []) {
  const result = await run({ command, operands, options: [...options, ["json", null]] }).done;
  if (!result.out) throw new Error(complaint(result));
  return result.out;
}

// A row for each thing that either says; what differs is said in words, and set off.
function beside(caption, names, rows) {
  const said = rows.filter(([, a, b]) => (a ?? "") !== "" || (b ?? "") !== "");
  return table(caption, ["", ...names, ""], said.map(([what, a, b]) => {
    const differs = a !== b;
    return { marked: differs, cells: [what, a ?? "\u2013", b ?? "\u2013", differs ? "differs" : "same"] };
  }), { class: "stacked" });
}

export class Compare {
  constructor(about) {
    this.about = about;
    const kinds = about.shop ? Object.keys(NAMES) : ["tables"];
    this.kind = el("select", { onchange: () => this.choose() }, kinds.map((k) => el("option", { value: k }, NAMES[k])));
    this.first = el("select", { onchange: () => this.show() });
    this.second = el("select", { onchange: () => this.show() });
    this.from = el("input", { type: "number", min: 100, step: "any", value: "400", onchange: () => this.show() });
    this.to = el("input", { type: "number", min: 100, step: "any", value: "700", onchange: () => this.show() });
    this.chart = new Chart("The two beside each other", "");
    this.band = el("div", { class: "fields" }, field("Picture from (nm)", this.from), field("to (nm)", this.to));
    this.picture = el("div", {}, this.band, this.chart.element);
    this.result = el("div", {});
    this.status = el("p", { class: "hint", role: "status" });
    this.element = el("div", { class: "sheet", id: "compare" }, el("h2", {}, "Compare"),
      el("div", { class: "fields" }, field("Which", this.kind), field("The first", this.first), field("The second", this.second)), this.status, this.picture, this.result);
  }

  // compare=tables&a=MgF2&b=SiO2, of the address
  async open(query) {
    const p = new URLSearchParams(query);
    if (p.has("compare")) this.kind.value = p.get("compare");
    if (this.kind.selectedIndex < 0) this.kind.selectedIndex = 0;
    await this.choose(p.get("a"), p.get("b"), p.has("a"));
  }

  async choose(a, b, now) {
    const kind = this.kind.value;
    this.picture.hidden = true;
    fill(this.result);
    try {
      this.items = await this[kind + "List"]();
    } catch (error) {
      this.items = [];
      this.status.textContent = error.message;
      return;
    }
    if (kind !== this.kind.value) return;
    const options = () => this.items.map((i) => el("option", { value: i.name }, i.name));
    fill(this.first, options());
    fill(this.second, options());
    if (this.items.some((i) => i.name === a)) this.first.value = a;
    this.second.value = this.items.some((i) => i.name === b) ? b : (this.items[1] || this.items[0] || { name: "" }).name;
    this.status.textContent = this.items.length < 2 ? "There are not two of these yet." : "Choose two.";
    if (now && this.items.length > 1) await this.show();
  }

  async show() {
    const kind = this.kind.value, names = [this.first.value, this.second.value];
    const [a, b] = names.map((n) => this.items.find((i) => i.name === n));
    if (!a || !b) return;
    history.replaceState(null, "", "#shop?" + new URLSearchParams({ compare: kind, a: names[0], b: names[1] }));
    this.status.textContent = "Comparing";
    try {
      await this[kind](a, b, names);
      this.status.textContent = names[0] + " and " + names[1] + ":";
    } catch (error) {
      this.picture.hidden = true;
      fill(this.result);
      this.status.textContent = error.message;
    }
  }

  // The band of the picture, as far as it is a band.
  range() {
    const from = this.from.valueAsNumber, to = this.to.valueAsNumber;
    return to > from && from > 0 ? [from, to] : [400, 700];
  }

  copy(words, take) {
    return button("Take a copy of " + words, take, { class: "small" });
  }

  // -- index tables

  tablesList() {
    return ask("materials", []).then((list) => list.materials);
  }

  async tables(a, b, names) {
    const both = await Promise.all([a, b].map((m) => ask("materials", [m.name])));
    const [from, to] = this.range();
    const rows = both.map((m) => (m.table_rows || []).filter((r) => r.wavelength_nm >= from && r.wavelength_nm <= to));
    const drawn = rows.map((r, i) => ({ name: "n of " + names[i], x: r.map((p) => p.wavelength_nm), y: r.map((p) => p.n), style: "c" + i })).filter((c) => c.x.length > 1);
    this.picture.hidden = false;
    this.chart.yName = "Index n";
    this.chart.unit = "";
    if (drawn.length) this.chart.show({ low: true, x: [from, to], curves: drawn, limits: [] });
    this.chart.element.hidden = drawn.length === 0;
    const row = (words, name, show = (x) => x) => [words, ...both.map((m) => (m[name] === null || m[name] === undefined ? "" : show(m[name])))];
    fill(this.result, beside("What the tables say", names, [row("Source", "source"), row("Formula", "formula"), row("Kind", "kind"), row("From nm", "from_nm", String), row("To nm", "to_nm", String),
      row("Rows", "rows", String), row("n is given at nm", "at_nm", String), row("n there", "n", String), row("k there", "k", String), row("Process temperature (C)", "process_c"),
      row("The part withstands (C)", "max_process_c"), row("Density (g/cm3)", "density_g_cm3"), row("Note", "note"), row("Caution", "caution"), row("File", "table")]),
    el("div", { class: "row" }, names.map((n) => this.copy(n, () => this.takeTable(n)))));
  }

  async takeTable(name) {
    const result = await run({ command: "materials", operands: [name], options: [["o", "table.csv"]], results: ["table.csv"] }).done;
    if (result.exit === 0) save(plainName(name + ".csv"), await text(resultAddress(result, "table.csv")));
    else this.status.textContent = complaint(result);
  }

  // -- standard coatings, each on each of its substrates

  async standardsList() {
    const list = await ask("standard", ["list"]);
    return list.standards.flatMap((s) => s.stacks.map((k) => ({ name: s.name + " on " + k.substrate, coating: s, stack: k })));
  }

  stateOf(item) {
    return { incident: "air", substrate: item.stack.substrate, layers: item.stack.stack.map((l) => layerOf(l, false)),
      callouts: item.coating.callouts.join("\n").replaceAll("..", "-"), aoi: [0], from: this.range()[0], to: this.range()[1], step: 1, quantity: "R", back: null };
  }

  async standards(a, b, names) {
    const states = [a, b].map((i) => this.stateOf(i)), step = Math.max(1, Math.ceil((states[0].to - states[0].from) / 1000));
    const figures = await Promise.all(states.map((s) => live({ incident: s.incident, substrate: s.substrate, layers: s.layers.map(layerAsked),
      from_nm: s.from, to_nm: s.to, step_nm: step, aoi_deg: s.aoi, callouts: s.callouts })));
    this.picture.hidden = this.chart.element.hidden = false;
    this.chart.yName = "Reflectance (%)";
    this.chart.unit = " %";
    this.chart.show({ x: figures[0].spectrum.wavelength_nm, limits: [],
      curves: figures.map((f, i) => ({ name: names[i] + " at 0\u00b0", x: f.spectrum.wavelength_nm, y: f.spectrum.curves[0].R_percent, style: "c" + i })) });
    const row = (words, of) => [words, of(0), of(1)];
    const layer = (i, n) => (states[i].layers[n] ? inWords(states[i].layers[n]) : "");
    const most = Math.max(...states.map((s) => s.layers.length));
    fill(this.result, beside("What the coatings are", names, [row("Callouts", (i) => states[i].callouts), row("Of its own limits", (i) => figure(100 * figures[i].check.limit_used, 4) + " %"),
      row("Substrate", (i) => states[i].substrate), row("Layers", (i) => String(states[i].layers.length)), row("In all", (i) => figure([a, b][i].stack.total_nm, 6) + " nm"),
      ...Array.from({ length: most }, (_, n) => row("Layer " + (n + 1), (i) => layer(i, n)))]),
    el("div", { class: "row" }, el("a", { href: address({ ...states[0], back: { layers: states[1].layers, substrate: states[1].substrate, incident: "air" } }) }, "Both in Design"),
      names.map((n, i) => this.copy(n, () => save(plainName(n + ".csv"), stackFile(states[i]))))));
  }

  // -- entries of the record

  async recordList() {
    return (await ask("record", ["list"])).entries.map((e) => ({ ...e, name: e.number })).reverse();
  }

  async record(a, b, names) {
    const both = await Promise.all(names.map((n) => ask("record", ["show", n])));
    const given = both.map((e) => this.optionsOf(e.command_line)), words = [...new Set(given.flatMap((g) => [...g.keys()]))];
    const files = both.map((e) => new Map(e.inputs.map((f) => [f.file.split("/").pop(), f.sha256]))), all = [...new Set(files.flatMap((f) => [...f.keys()]))];
    const changed = all.filter((f) => files[0].get(f) !== files[1].get(f));
    const state = (i, f) => (files[i].has(f) ? files[i].get(f).slice(0, 12) + "\u2026" : "not read");
    this.picture.hidden = true;
    fill(this.result, beside("What was asked, and what came of it", names, [["Date", both[0].date, both[1].date], ["What", both[0].command, both[1].command], ["Subject", both[0].subject, both[1].subject],
      ["Outcome", both[0].verdict, both[1].verdict], ["Version", both[0].version, both[1].version], ...words.map((w) => [w, given[0].get(w), given[1].get(w)])]),
    changed.length > 0 ? beside("Files that were read, by their SHA-256", names, changed.map((f) => [f, state(0, f), state(1, f)]))
      : el("p", {}, "The same " + all.length + " files were read, byte for byte."),
    changed.length > 0 && changed.length < all.length && el("p", { class: "hint" }, (all.length - changed.length) + " other files were the same, byte for byte."));
  }

  // --name value, or --name=value; operands by their places
  optionsOf(line) {
    const given = new Map();
    const put = (name, value) => given.set(name, given.has(name) ? given.get(name) + "; " + value : value);
    for (let i = 1; i < line.length; i++) {
      const [, name, value] = /^(--[a-z-]+)(?:=(.*))?$/s.exec(line[i]) || [];
      if (!name || name === "--json" || name === "--quiet") continue;
      put(name, value !== undefined ? value : i + 1 < line.length && !/^--?[a-z]/.test(line[i + 1]) ? line[++i] : "yes");
    }
    return given;
  }
}
