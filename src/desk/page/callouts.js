// SPDX-License-Identifier: GPL-3.0-or-later
// A box for the drawing's words, with how they are understood beneath, as they are typed.
import { el, fill, table, button, limitOf } from "./look.js";
import { understand, read, bytesOf } from "./talk.js";
import { plainName } from "./look.js";

const PAUSE = 180;

export class Callouts {
  // `done` gets the words once a person has finished with the box.
  constructor(done, showsTable = false) {
    this.done = done;
    this.showsTable = showsTable;
    this.understood = { rows: [], clear: true };
    this.box = el("textarea", { rows: 3, spellcheck: "false", "aria-label": "Callouts in the drawing's words",
      oninput: () => this.later(), onchange: () => this.done(this.box.value) });
    this.says = el("div", { "aria-live": "polite" });
    this.file = el("input", { type: "file", accept: ".csv,text/csv", hidden: true, onchange: () => this.open() });
    this.element = el("div", {}, this.box,
      el("p", { class: "hint" }, "As on the drawing, a note on each line: Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg"), this.says,
      el("div", { class: "row" }, button("Open a callouts file", () => this.file.click(), { class: "small" }), this.file));
  }

  set(words) {
    if (this.box.value === words && this.asked === words) return;
    if (document.activeElement !== this.box) this.box.value = words;
    this.ask();
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => { this.ask(); if (this.typing) this.typing(this.box.value); }, PAUSE);
  }

  async ask() {
    const words = this.asked = this.box.value;
    try {
      const answer = await understand(words);
      if (words !== this.asked) return;
      this.show(answer.notes);
    } catch (error) {
      fill(this.says, el("p", { class: "unclear" }, error.message));
    }
  }

  show(notes) {
    const rows = notes.flatMap((n) => (n.callouts ? n.callouts.callouts.map((row, i) => ({ ...row, words: n.words[i] })) : []));
    this.understood = { rows, clear: notes.every((n) => n.callouts) };
    const assumptions = [...new Set(notes.flatMap((n) => (n.callouts ? n.callouts.assumptions : [])))];
    fill(this.says,
      notes.filter((n) => n.error).map((n) => this.question(n)),
      this.showsTable && rows.length > 0 && table("Understood", ["What", "Limit", "nm", "Degrees", "Polarization", "For"],
        rows.map((r) => [r.quantity + " " + r.statistic, limitOf(r) + (r.limit_percent === null ? "" : " %"),
          r.from_nm === r.to_nm ? String(r.from_nm) : r.from_nm + " to " + r.to_nm,
          r.aoi_from_deg === r.aoi_to_deg ? String(r.aoi_from_deg) : r.aoi_from_deg + " to " + r.aoi_to_deg, r.polarization,
          r.scope === "part" ? "the part" : "one surface"]), { class: "stacked" }),
      this.showsTable && assumptions.map((a) => el("p", { class: "hint" }, a)));
    if (this.changed) this.changed(this.understood);
  }

  // The note with the place that is meant underlined, and the question about it.
  question(note) {
    const [sentence, excerpt, caret] = note.error.split("\n");
    const start = excerpt === undefined ? -1 : note.text.indexOf(excerpt.trim());
    const shift = excerpt === undefined ? 0 : excerpt.length - excerpt.trimStart().length;
    note.at = start < 0 || caret === undefined ? null : start + caret.indexOf("^") - shift;
    const end = note.at === null ? 0 : note.at + (/^[^\s,;]+/.exec(note.text.slice(note.at)) || [" "])[0].length;
    return el("div", { class: "unclear" },
      note.at !== null && el("p", {}, note.text.slice(0, note.at), el("mark", {}, note.text.slice(note.at, end) || "\u00a0"), note.text.slice(end)),
      el("p", {}, sentence));
  }

  async open() {
    const file = this.file.files[0];
    this.file.value = "";
    if (!file) return;
    try {
      const { words } = await read("callouts", plainName(file.name), await bytesOf(file));
      this.box.value = words;
      this.done(words);
      this.ask();
    } catch (error) {
      fill(this.says, el("p", { class: "unclear" }, error.message));
    }
  }
}
