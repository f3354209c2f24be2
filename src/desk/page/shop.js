// SPDX-License-Identifier: GPL-3.0-or-later
// What the shop's folder holds, to look at. Editing is done in the files.
import { el, fill, figure, button, table, save } from "./look.js";
import { run, text, complaint } from "./talk.js";
import { address, layerOf } from "./state.js";
import { Compare } from "./compare.js";

// The rows of one of our own CSV files, for the eye alone.
function rowsOf(words) {
  return words.split(/\r?\n/).filter((line) => line && !line.startsWith("#")).map((line) =>
    [...line.matchAll(/("([^"]|"")*"|[^,]*)(,|$)/g)].map((m) => m[1]).slice(0, line.endsWith(",") ? undefined : -1).map((cell) => cell.replace(/^"|"$/g, "").replaceAll('""', '"')));
}

// A little more than its callouts ask about.
function bandOf(callouts) {
  const bands = callouts.map((c) => /([\d.]+?)(?:\.\.([\d.]+))? nm/.exec(c)).filter(Boolean);
  const from = Math.min(...bands.map((m) => +m[1])), to = Math.max(...bands.map((m) => +(m[2] || m[1]))), more = Math.max(20, 0.1 * (to - from));
  return bands.length && to > from - 1 ? { from: Math.max(200, Math.floor((from - more) / 10) * 10), to: Math.ceil((to + more) / 10) * 10 } : { from: 400, to: 700 };
}

export class ShopView {
  constructor(root, about) {
    this.root = root;
    this.about = about;
  }

  async open(query) {
    this.compare = new Compare(this.about);
    const head = [el("h1", { id: "h-shop" }, "Shop"), el("p", { class: "lead" }, "What the shop's folder states once. To change it, edit the file that is named; the page then shows it so.")];
    if (!this.about.shop) {
      fill(this.root, head, el("div", { class: "sheet" }, el("p", {}, "No shop's folder was named. Begin one with \u201cbloomcoat shop init DIR\u201d, and open the desk with \u201c--shop DIR\u201d.")), this.materialsSheet(), this.compare.element);
      await Promise.all([this.materials(), this.compare.open(query)]);
      return;
    }
    this.files = el("div", {});
    this.standards = el("div", {});
    fill(this.root, head, this.files, el("div", { class: "sheet" }, el("h2", {}, "Standard coatings"), this.standards), this.materialsSheet(), this.compare.element);
    await Promise.all([this.check(), this.standard(), this.materials(), this.compare.open(query)]);
  }

  materialsSheet() {
    this.tables = el("div", {});
    return el("div", { class: "sheet" }, el("h2", {}, "Index tables"), this.tables);
  }

  async ask(body, into, show) {
    try {
      const result = await run(body).done;
      fill(into, result.out ? show(result.out) : el("p", {}, complaint(result)));
    } catch (error) {
      fill(into, el("p", {}, error.message));
    }
  }

  check() {
    return this.ask({ command: "shop", operands: ["check"], options: [["json", null]] }, this.files, (shop) => {
      const files = [["process.csv", "Process: rates, tooling and errors", shop.process_file], ...shop.chamber_files.map((path, i) => ["chamber-" + i, "Chamber", path]), ["shop.csv", "Defaults", shop.defaults_file]];
      const sheets = files.filter(([, , path]) => path).map(([name, title, path]) => {
        const body = el("div", {});
        text("/shop/" + name).then((words) => {
          const [columns, ...rows] = rowsOf(words);
          fill(body, table("As it is now", columns, rows),
            el("div", { class: "row" }, button("Take a copy", () => save(path.split("/").pop(), words), { class: "small" })));
        });
        return el("div", { class: "sheet" }, el("h2", {}, title), el("p", { class: "hint" }, "Edit " + path), body);
      });
      return [sheets, shop.lacks.length > 0 && el("div", { class: "sheet" }, el("h2", {}, "What is missing, and what that costs"),
        table("In this folder", ["Missing", "Then"], shop.lacks.map((l) => [l.missing + (l.file ? " in " + l.file.split("/").pop() : ""), l.cost])))];
    });
  }

  standard() {
    return this.ask({ command: "standard", operands: ["list"], options: [["json", null]] }, this.standards, (list) => list.standards.length === 0 ? el("p", {}, "None yet: bloomcoat standard add.")
      : list.standards.map((s) => [el("h3", {}, s.name), s.callouts.map((c) => el("p", { class: "hint" }, c)),
        table("Its stacks, in " + list.folder + "/" + s.name, ["Substrate", { words: "Layers", number: true }, { words: "nm", number: true }, ""],
          s.stacks.map((k) => [k.substrate, String(k.stack.length), figure(k.total_nm, 4),
            el("a", { href: address({ incident: "air", substrate: k.substrate, layers: k.stack.map((l) => layerOf(l, false)),
              callouts: s.callouts.join("\n").replaceAll("..", "-"), aoi: [0, 30], ...bandOf(s.callouts), step: 1, quantity: "R", back: null }) }, "Design")]))]));
  }

  materials() {
    return this.ask({ command: "materials", options: [["json", null]] }, this.tables, (list) => el("details", {}, el("summary", {}, list.materials.length + " tables"),
      table("Index tables", ["Name", { words: "From nm", number: true }, { words: "To nm", number: true }, "Source"],
        list.materials.map((m) => [m.name, figure(m.from_nm, 4), figure(m.to_nm, 5), m.source || ""]))));
  }
}
