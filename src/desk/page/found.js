// SPDX-License-Identifier: GPL-3.0-or-later
// Options and counteroffers, one by one while a search goes on; its result takes their place.
import { el, fill, figure, table } from "./look.js";

const plural = (n, word) => n + " " + word + (n === 1 ? "" : "s");

export class Found {
  // offer(exception) and design(stack) give what a counteroffer and a link to a stack look like.
  constructor(offer, design) {
    this.offer = offer;
    this.design = design;
    this.options = new Map();
    this.exceptions = new Map();
    this.says = el("span", { class: "found-so-far" });
    this.table = el("div", {});
    this.offers = el("div", {});
    this.element = el("div", { class: "found", hidden: true }, el("div", { class: "sheet" }, el("h2", {}, "Found so far"),
      el("p", { class: "hint" }, "The search goes on, and better ones take their place."), this.table, this.offers));
  }

  take(found) {
    const option = found.option && Array.isArray(found.option.stack) ? found.option : null;
    const exception = found.exception && typeof found.exception.offered === "string" ? found.exception : null;
    if (!option && !exception) return; // a line of another kind
    if (option) this.options.set(option.standard || option.layers, option);
    else this.takeException(exception);
    this.element.hidden = false;
    if (option) this.drawOptions();
    fill(this.says, plural(this.options.size, "coating") + (this.exceptions.size ? " and " + plural(this.exceptions.size, "counteroffer") : "") + " so far. ");
  }

  // A longer search may come back to one: the later is the better.
  takeException(exception) {
    const key = [exception.callout, exception.change, exception.material].join("\n"), node = this.offer(exception);
    if (this.exceptions.has(key)) this.exceptions.get(key).replaceWith(node);
    else if (this.exceptions.size === 0) fill(this.offers, el("h3", {}, "Counteroffers"), node);
    else this.offers.append(node);
    this.exceptions.set(key, node);
  }

  drawOptions() {
    const at = document.activeElement && this.table.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
    const options = [...this.options.values()].sort((a, b) => a.layers - b.layers);
    fill(this.table, table("The best so far for each number of layers",
      [{ words: "Layers", number: true }, { words: "nm", number: true }, { words: "Of the limits", number: true }, { words: "Yield %", number: true }, { words: "Hours a load", number: true }, ""],
      options.map((o) => [String(o.layers), figure(o.total_nm, 4), figure(100 * o.limit_used, 3) + " %", (o.forecast && o.yield_percent !== null ? "about " : "") + figure(o.yield_percent, 3),
        figure(o.hours_per_load, 3), [o.standard && "standard " + o.standard + " ", el("a", { href: this.design(o.stack) }, "Design")]]), { class: "stacked" }));
    const again = at && [...this.table.querySelectorAll("a")].find((a) => a.getAttribute("href") === at);
    if (again) again.focus();
  }
}
