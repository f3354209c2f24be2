// SPDX-License-Identifier: GPL-3.0-or-later
// What a design asks of commands: refine, draft, what 1 % does, files to take away.
import { el, fill, figure, field, button, verdict, command, save } from "./look.js";
import { run, bytesOfText, complaint, text, resultAddress } from "./talk.js";
import { layerOf, stackFile } from "./state.js";

export class Work {
  // The view has the state, change(), calloutOptions() and the stack.
  constructor(view) {
    this.view = view;
    this.job = null;
    this.news = el("div", { "aria-live": "polite" });
    this.draftForm = this.makeDraftForm();
  }

  makeDraftForm() {
    this.materials = el("input", { size: 24, value: "MgF2,Al2O3,Ta2O5" });
    this.most = el("input", { type: "number", min: 1, max: 40, value: "8" });
    return el("div", { class: "offer", hidden: true },
      el("div", { class: "fields" }, field("Layer materials", this.materials, "with commas"), field("At most so many layers", this.most)),
      el("div", { class: "row" }, button("Draft", () => this.draft(), { class: "main" })));
  }

  async request(name, options, extra = {}) {
    return { command: name, operands: ["stack.csv"], files: { "stack.csv": await bytesOfText(stackFile(this.view.state)) },
      options: [...this.view.calloutOptions(), ["json", null], ...options], ...extra };
  }

  // Run one with its progress, and give its result to `take`; what went wrong is said.
  async work(words, body, take) {
    const says = el("span", { "aria-live": "off" }, words);
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
    this.view.change((s) => { s.layers = result.out.layers.map((l) => layerOf(l, l.fixed)); });
    fill(this.news, verdict(result.out.pass ? "good" : "care", words, "It uses " + figure(100 * result.out.limit_used, 4) + " % of the tightest limit. Undo brings the one before back."), command(line));
  }

  async refine() {
    await this.work("Refining", await this.request("refine", []), (r, line) => this.takeLayers(r, line, "Refined"));
  }

  async draft() {
    const body = { command: "draft", operands: [], files: {}, options: [...this.view.calloutOptions(), ["substrate", this.view.state.substrate],
      ["incident", this.view.state.incident], ["materials", this.materials.value.replace(/\s+/g, "")], ["max-layers", String(this.most.value)], ["prove", "0"], ["json", null]] };
    await this.work("Searching", body, (r, line) => this.takeLayers(r, line, "Drafted: " + r.out.layers.length + " layers"));
  }

  async sensitivity() {
    await this.work("Computing", await this.request("sensitivity", []), (r, line) => {
      const base = r.out.limit_used;
      this.view.effect = r.out.layers.map((l) => Math.max(l.thickness_1_percent.limit_used_less, l.thickness_1_percent.limit_used_more) - base);
      this.view.stack.drawRows();
      fill(this.news, verdict("", r.out.decisive_layer === null ? "No layers" : "Layer " + r.out.decisive_layer + " decides",
        "1 % of its thickness costs most. The table has, for each layer, by how many points the share of the tightest limit rises when that layer alone is 1 % off."), command(line));
    });
  }

  async takeSpectrum() {
    const s = this.view.state;
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
}
