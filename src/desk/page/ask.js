// SPDX-License-Identifier: GPL-3.0-or-later
// The quoter's view: what the drawing asks for, whether it can be made, and what to offer instead.
import { el, fill, figure, field, checkbox, button, table, verdict, command, calloutWords, today, valueOf, limitOf } from "./look.js";
import { run, complaint, resultAddress } from "./talk.js";
import { Callouts } from "./callouts.js";
import { Found } from "./found.js";
import { address, layerOf } from "./state.js";

const FIELDS = ["callouts", "substrate", "quantity", "diameter", "radius", "aperture", "materials", "title", "part", "number", "both", "onerun", "search", "unkept"];
const TONE = { feasible: "good", marginal: "care", "not feasible": "bad" };
const WORD = { feasible: "Feasible", marginal: "Marginal", "not feasible": "Not feasible" };
const REPORTS = ["customer.html", "customer.pdf", "internal.html", "internal.pdf", "request.csv", "price.csv"];

// Why, without what the page says in its own words of a search that was stopped.
const whyOf = (q) => q.why.replace(/^Interrupted, .*?best there is[^.]*\. /, "");

export class AskView {
  constructor(root, about) {
    this.root = root;
    this.about = about;
    this.build();
  }

  build() {
    const typed = () => this.keep();
    this.callouts = new Callouts(() => this.keep(), true);
    this.callouts.typing = typed;
    this.substrate = el("input", { list: "materials", size: 14, onchange: typed });
    this.nd = el("input", { type: "number", min: 1.3, max: 2.2, step: "any", oninput: () => this.codeOfGlass() });
    this.vd = el("input", { type: "number", min: 15, max: 100, step: "any", oninput: () => this.codeOfGlass() });
    this.quantity = el("input", { type: "number", min: 1, step: 1, onchange: typed });
    this.diameter = el("input", { type: "number", min: 0, step: "any", onchange: typed });
    this.radius = el("input", { type: "number", step: "any", onchange: typed });
    this.aperture = el("input", { type: "number", min: 0, step: "any", onchange: typed });
    this.materials = el("input", { size: 26, onchange: typed });
    this.title = el("input", { size: 26, onchange: typed });
    this.part = el("input", { size: 16, onchange: typed });
    this.number = el("input", { size: 16, onchange: typed });
    this.both = checkbox("Both faces are coated", false, () => { this.onerun.label.hidden = !this.both.box.checked; this.keep(); });
    this.onerun = checkbox("in the same run", false, typed);
    this.search = checkbox("Look for other coatings even where a standard coating does", false, typed);
    this.unkept = checkbox("Keep this out of the record", false, typed);
    this.onerun.label.hidden = true;
    this.result = el("div", {});
    this.status = el("div", { "aria-live": "polite" });
    const form = el("form", { onsubmit: (e) => { e.preventDefault(); this.ask(); } },
      el("div", { class: "sheet" }, el("h2", {}, "What the drawing asks for"), this.callouts.element,
        el("div", { class: "fields" }, field("Substrate", this.substrate, "six-digit code or name")),
        el("details", {}, el("summary", {}, "I have nd and Vd"),
          el("div", { class: "fields" }, field("nd", this.nd), field("Vd", this.vd)))),
      el("div", { class: "sheet" }, el("h2", {}, "The parts"),
        el("div", { class: "fields" }, field("Quantity", this.quantity), field("Diameter (mm)", this.diameter)),
        el("div", { class: "row" }, this.both.label, this.onerun.label),
        el("details", {}, el("summary", {}, "Curved surface"),
          el("div", { class: "fields" }, field("Radius (mm)", this.radius, "negative: concave"), field("Clear aperture (mm)", this.aperture))),
        el("details", { open: !this.about.shop }, el("summary", {}, "Layer materials, names and numbers"),
          el("div", { class: "fields" }, field("Layer materials", this.materials, this.about.shop ? "empty: those of the shop's process" : "with commas"),
            field("Title", this.title), field("Part number", this.part), field("Quote number", this.number)),
          el("div", { class: "row" }, this.search.label, this.about.shop && this.unkept.label)),
        el("div", { class: "row" }, this.go = el("button", { type: "submit", class: "main" }, "Can we make it?"))));
    this.record = el("div", {});
    this.find = el("input", { type: "search", size: 20, oninput: () => { clearTimeout(this.timer); this.timer = setTimeout(() => this.list(), 250); } });
    fill(this.root, el("h1", { id: "h-ask" }, "Quote"),
      el("p", { class: "lead" }, "Type the coating note exactly as the drawing has it. What is understood appears below as you type."),
      el("div", { class: "two answers" }, el("div", {}, form), el("div", {}, this.status, this.result)),
      this.about.shop && el("div", { class: "sheet" }, el("h2", {}, "Earlier requests"), field("Find by any word", this.find), this.record));
  }

  // The code of a glass is nd - 1 in thousandths and Vd in tenths.
  codeOfGlass() {
    const n = this.nd.valueAsNumber, v = this.vd.valueAsNumber;
    if (!(n > 1 && n < 2 && v >= 10 && v < 100)) return;
    this.substrate.value = String(Math.round((n - 1) * 1000)).padStart(3, "0") + String(Math.round(v * 10)).padStart(3, "0");
    this.keep();
  }

  values() {
    return { callouts: this.callouts.box.value, substrate: this.substrate.value.trim(), quantity: this.quantity.value, diameter: this.diameter.value,
      radius: this.radius.value, aperture: this.aperture.value, materials: this.materials.value.replace(/\s+/g, ""), title: this.title.value.trim(),
      part: this.part.value.trim(), number: this.number.value.trim(), both: this.both.box.checked ? "1" : "", onerun: this.onerun.box.checked ? "1" : "",
      search: this.search.box.checked ? "1" : "", unkept: this.unkept.box.checked ? "1" : "" };
  }

  put(values) {
    this.callouts.box.value = values.callouts || "";
    for (const name of ["substrate", "quantity", "diameter", "radius", "aperture", "materials", "title", "part", "number"]) this[name].value = values[name] || "";
    for (const name of ["both", "onerun", "search", "unkept"]) this[name].box.checked = !!values[name];
    this.onerun.label.hidden = !this.both.box.checked;
    this.callouts.ask();
  }

  keep() {
    const p = new URLSearchParams();
    for (const [name, value] of Object.entries(this.values())) if (value) p.set(name, value);
    history.replaceState(null, "", "#ask?" + p);
  }

  open(query) {
    const p = new URLSearchParams(query);
    if ([...p.keys()].some((name) => FIELDS.includes(name))) this.put(Object.fromEntries(p));
    else if (!this.shown) this.put({ callouts: "" });
    if (!this.shown && this.about.shop) this.list();
    this.shown = true;
  }

  // What is asked, without the papers about it.
  question(v) {
    const options = v.callouts.split("\n").map((w) => w.trim()).filter(Boolean).map((w) => ["callout", w]);
    const one = (name, value) => { if (value) options.push([name, value]); };
    one("substrate", v.substrate);
    one("materials", v.materials);
    one("quantity", v.quantity);
    one("part-diameter-mm", v.diameter);
    one("radius-mm", v.radius);
    one("clear-aperture-mm", v.aperture);
    if (v.both) options.push(["both-sides", null]);
    if (v.both && v.onerun) options.push(["one-run", null]);
    if (v.search) options.push(["search", null]);
    options.push(["json", null]);
    return { command: "quote", operands: [], files: {}, options };
  }

  request(v) {
    const body = this.question(v), options = body.options;
    const one = (name, value) => { if (value) options.push([name, value]); };
    one("title", v.title);
    one("part-number", v.part);
    one("quote-number", v.number);
    options.push(["date", today()]);
    for (const name of REPORTS.slice(0, 2)) options.push(["report", name]);
    for (const name of REPORTS.slice(2, 4)) options.push(["internal-report", name]);
    options.push(["save", "request.csv"], ["price-csv", "price.csv"], ["as-found", null]);
    if (this.about.shop && !v.unkept) options.push(["record", null]);
    return { ...body, results: REPORTS };
  }

  async ask() {
    const v = this.values();
    this.began = performance.now();
    if (this.job) this.job.cancel();
    if (!v.callouts.trim() || !v.substrate) {
      fill(this.status, verdict("care", "Something is missing", !v.callouts.trim() ? "Type what the drawing asks for." : "Name the substrate: its six-digit code, its name, or nd and Vd."));
      (v.callouts.trim() ? this.substrate : this.callouts.box).focus();
      return;
    }
    this.keep();
    fill(this.result);
    this.first = el("div", {});
    try {
      const look = await this.work({ ...this.question(v), options: [...this.question(v).options, ["seconds", "0.5"], ["prove", "0"]] }, "First look", null);
      if (look.exit > 1) {
        fill(this.status, verdict("care", "A question first", ...complaint(look).split("\n")));
        return;
      }
      this.root.dataset.first = (performance.now() - this.began).toFixed(0);
      const known = look.out.verdict === "feasible" || !look.out.interrupted;
      fill(this.first, verdict(known ? TONE[look.out.verdict] : "", known ? WORD[look.out.verdict] : "Not decided yet",
        !known && look.out.standards.length > 0 && "None of the " + look.out.standards.length + " standard coatings looked at so far does it as it is.",
        known ? look.out.why : "The search goes on. The best so far: " + whyOf(look.out)));
      this.found = new Found((x) => this.offer(x, v), (stack) => this.designOf(stack, {}, v));
      fill(this.result, this.found.element);
      const result = await this.work(this.request(v), "Searching, and writing the pages", this.found);
      if (result.exit > 1) fill(this.status, verdict("care", "A question first", ...complaint(result).split("\n")));
      else this.show(result, this.line, v);
      this.root.dataset.milliseconds = (performance.now() - this.began).toFixed(0);
      if (this.about.shop) this.list();
    } catch (error) {
      if (error.name !== "AbortError") fill(this.status, verdict("care", "Not computed", error.message));
    }
  }

  // One command, with its progress; what was found before stays above it.
  async work(body, words, found) {
    const says = el("span", { "aria-live": "off" }, words);
    const job = this.job = run(body, { progress: (now) => { says.textContent = now; }, command: (c) => { this.line = c; }, found: (what) => found && found.take(what) });
    fill(this.status, this.first, el("div", { class: "sheet working" }, says, found && found.says, found && button("Stop with the best so far", () => job.stop(), { class: "small" })));
    try {
      return await job.done;
    } finally {
      if (this.job === job) this.job = null;
    }
  }

  show(result, line, v) {
    const q = result.out;
    const files = result.results;
    const link = (name, words) => files.includes(name) && el("a", { href: resultAddress(result, name) + (name.endsWith("html") ? "" : "?download"), target: name.endsWith("html") ? "_blank" : null }, words);
    fill(this.status, verdict(TONE[q.verdict], WORD[q.verdict], whyOf(q), q.interrupted && "The search was stopped: this is the best so far, not the best there is."));
    fill(this.result,
      el("div", { class: "sheet" }, el("h2", {}, "To send and to keep"),
        el("ul", {}, [link("customer.html", "Page for the customer"), link("customer.pdf", "the same as PDF"), link("internal.html", "Report for the house"),
          link("internal.pdf", "the same as PDF"), link("request.csv", "Request (CSV)"), link("price.csv", "Figures for pricing (CSV)")].filter(Boolean).map((a) => el("li", {}, a))),
        (/^bloomcoat: (recorded|kept).*$/m.exec(result.said) || []).slice(0, 1).map((w) => el("p", { class: "hint" }, w.replace(/^bloomcoat: /, "")))),
      q.exceptions.length > 0 && el("div", { class: "sheet" }, el("h2", {}, "What we can offer instead"), q.exceptions.map((x) => this.offer(x, v))),
      q.options.length > 0 && el("div", { class: "sheet" }, el("h2", {}, "Coatings"), this.optionsTable(q, v)),
      q.callouts && q.callouts.length > 0 && el("div", { class: "sheet" }, el("h2", {}, "Callouts, of the recommended coating"),
        table("On " + (q.substrates || []).join(", "), ["Callout", { words: "Value %", number: true }, { words: "Limit %", number: true }, ""],
          q.callouts.map((c) => [c.name, valueOf(c), limitOf(c),
            el("span", { class: c.pass ? "good-text" : "bad-text" }, c.pass ? "meets" : "FAILS")]), { class: "stacked" })),
      el("div", { class: "sheet" }, el("h2", {}, "Why"), [...q.reasons, ...q.materials, ...q.missing].map((w) => el("p", {}, w)),
        el("h3", {}, "Cautions"), q.cautions.map((w) => el("p", { class: "hint" }, w)), command(line)));
  }

  optionsTable(q, v) {
    return table(q.searched ? "The best found for each number of layers" : "A standard coating does it: no search was made",
      [{ words: "Layers", number: true }, { words: "nm", number: true }, { words: "Of the limits", number: true }, { words: "Yield %", number: true },
        { words: "Hours a load", number: true }, { words: "Hours expected", number: true }, ""],
      q.options.map((o) => ({ marked: o.recommended, cells: [String(o.layers), figure(o.total_nm, 4), figure(100 * o.limit_used, 3) + " %", figure(o.yield_percent, 3),
        figure(o.hours_per_load, 3), figure(o.expected_hours, 3),
        [o.recommended && el("strong", {}, "recommended "), o.standard && "standard " + o.standard + " ", el("a", { href: this.designOf(o.stack, q, v) }, "Design")]] })), { class: "stacked" });
  }

  designOf(stack, q, v) {
    return address({ incident: q.incident || "air", substrate: v.substrate, layers: stack.map((l) => layerOf(l, false)),
      callouts: v.callouts, aoi: [0, 30], ...this.band(), step: 1, quantity: "R", back: null });
  }

  // A little more than the callouts ask about.
  band() {
    const rows = this.callouts.understood.rows;
    const from = Math.min(...rows.map((r) => r.from_nm)), to = Math.max(...rows.map((r) => r.to_nm)), more = Math.max(10, 0.1 * (to - from));
    return rows.length ? { from: Math.max(200, Math.floor((from - more) / 10) * 10), to: Math.ceil((to + more) / 10) * 10 } : { from: 400, to: 700 };
  }

  // One click takes it as the new request, where it changes what can be typed.
  offer(x, v) {
    const next = this.changed(x, v);
    return el("div", { class: "offer" },
      el("p", {}, x.callout ? el("strong", {}, x.callout + ": ") : "", x.asked, " \u2192 ", el("strong", {}, x.offered)),
      el("p", { class: "hint" }, "Checked with a design that uses " + figure(100 * x.limit_used, 3) + " % of the limits"
        + (x.yield_percent === null ? "." : "; " + figure(x.yield_percent, 3) + " of 100 runs succeed (" + figure(x.yield_low_percent, 3) + " to " + figure(x.yield_high_percent, 3) + ").")),
      el("div", { class: "row" },
        next && button("Ask for this instead", () => { this.put(next); this.keep(); this.ask(); }, { class: "small" }),
        x.stack && x.stack.length > 0 && el("a", { href: this.designOf(x.stack, {}, next || v) }, "Design")));
  }

  changed(x, v) {
    const rows = this.callouts.understood.rows;
    if (x.clear_aperture_mm !== undefined) return { ...v, aperture: String(x.clear_aperture_mm) };
    if (x.material !== null && x.material !== undefined || !this.callouts.understood.clear) return null;
    let found = false;
    const words = rows.map((r) => {
      if (x.callout === null && x.limit_factor) {
        found = true;
        return calloutWords({ ...r, limit_percent: r.limit_percent === null ? null : +(r.limit_percent * x.limit_factor).toPrecision(4) });
      }
      if (r.name !== x.callout || x.from_nm === undefined) return r.words;
      found = true;
      return calloutWords({ ...r, limit_percent: x.limit_percent, from_nm: x.from_nm, to_nm: x.to_nm, aoi_from_deg: x.aoi_from_deg, aoi_to_deg: x.aoi_to_deg });
    });
    return found && !words.includes(null) ? { ...v, callouts: words.join("\n") } : null;
  }

  async list() {
    const words = this.find.value.trim();
    try {
      const result = await run({ command: "record", operands: words ? ["search", words] : ["list"], options: [["json", null]] }).done;
      const entries = result.out ? result.out.entries.filter((e) => e.kind === "quote") : [];
      fill(this.record, entries.length ? this.entries(entries) : el("p", { class: "hint" }, words ? "Nothing in the record has these words." : "The record is empty."));
    } catch (error) {
      fill(this.record, el("p", { class: "hint" }, error.message));
    }
  }

  entries(entries) {
    return table("The shop's record, the newest first", ["Number", "Asked", "Made", "Outcome", ""], entries.slice(-60).reverse().map((e) => [e.number, e.subject || e.command, e.date, e.verdict || "",
      button("Open", () => this.openEntry(e.number), { class: "small", "aria-label": "Open " + e.number })]), { class: "stacked" });
  }

  // The request of an entry, as it was asked: its command line names all that was typed here.
  async openEntry(number) {
    const result = await run({ command: "record", operands: ["show", number], options: [["json", null]] }).done;
    if (!result.out) {
      fill(this.status, verdict("care", "Not opened", complaint(result)));
      return;
    }
    const given = {}, words = result.out.command_line;
    for (let i = 1; i < words.length; i++) {
      const [, name, value] = /^--([a-z-]+)(?:=(.*))?$/s.exec(words[i]) || [];
      if (!name) continue;
      const next = value !== undefined ? value : i + 1 < words.length && !words[i + 1].startsWith("--") ? words[++i] : "1";
      given[name] = name in given && name === "callout" ? given[name] + "\n" + next : next;
    }
    this.put({ callouts: given.callout, substrate: given.substrate, quantity: given.quantity, diameter: given["part-diameter-mm"], radius: given["radius-mm"],
      aperture: given["clear-aperture-mm"], materials: given.materials, title: given.title, part: given["part-number"], both: given["both-sides"], onerun: given["one-run"], search: given.search });
    this.keep();
    fill(this.status, el("p", { class: "hint" }, number + " of " + result.out.date + " was " + result.out.verdict + ". It can be asked again, or changed."));
    fill(this.result);
    this.callouts.box.focus();
  }
}
