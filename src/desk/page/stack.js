// SPDX-License-Identifier: GPL-3.0-or-later
// A stack as a table whose cells are typed into, and as a picture whose borders are dragged.
import { el, svg, fill, figure, checkbox, button, table } from "./look.js";

const THINNEST = 0.1;

export class StackView {
  // The view has the state, and change(), remember(), follow() and draw().
  constructor(view) {
    this.view = view;
    this.drag = null;
    this.picture = svg("svg", { class: "layers", role: "group", "aria-label": "The stack as a picture: borders can be dragged, or moved with the arrow keys" });
    this.rows = el("div", {});
    new ResizeObserver(() => { if (!this.drag) this.drawPicture(); }).observe(this.rows);
  }

  draw() {
    this.drawRows();
    this.drawPicture();
  }

  drawRows() {
    const s = this.view.state, last = s.layers.length - 1;
    const focus = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.place : null;
    const edit = (i, name, how) => (e) => this.view.change((state) => how(state.layers, e, i, name));
    const graded = s.layers.some((l) => l.gradient), rows = s.layers.map((l, i) => {
      const n = i + 1, of = " of layer " + n;
      const lock = checkbox("", l.fixed, edit(i, "fixed", (layers, e) => { layers[i].fixed = e.target.checked; }));
      lock.box.setAttribute("aria-label", "Keep the thickness" + of);
      const act = (words, name, how, off) => button(words, () => this.view.change((state) => how(state.layers)), { class: "small", "aria-label": name + of, title: name, disabled: off, "data-place": name + i });
      return [String(n),
        el("input", { class: "material", list: "materials", value: l.material, "aria-label": "Material" + of, "data-place": "m" + i, onchange: edit(i, "m", (layers, e) => { layers[i].material = e.target.value.trim(); }) }),
        el("input", { type: "number", min: THINNEST, step: "any", value: String(l.nm), "aria-label": "Thickness in nm" + of, "data-place": "t" + i,
          onchange: edit(i, "t", (layers, e) => { if (e.target.valueAsNumber > 0) layers[i].nm = e.target.valueAsNumber; }) }),
        graded ? el("input", { type: "number", min: -50, max: 50, step: "any", value: String(l.gradient || 0), "aria-label": "Index gradient in percent" + of, "data-place": "g" + i,
          onchange: edit(i, "g", (layers, e) => { if (Math.abs(e.target.valueAsNumber) <= 50) layers[i].gradient = e.target.valueAsNumber; }) }) : null,
        lock.label,
        this.view.effect ? figure(100 * this.view.effect[i], 3) : "",
        [act("\u2191", "Swap with the layer above", (x) => { [x[i], x[i + 1]] = [x[i + 1], x[i]]; }, i === last),
          act("+", "Insert a layer above", (x) => x.splice(i + 1, 0, { material: x[i ? i - 1 : last].material, nm: 20, gradient: 0, fixed: false })),
          act("\u00bd", "Split in two", (x) => { const half = x[i].nm / 2; x[i].nm = half; x.splice(i + 1, 0, { ...x[i], nm: half }); }, !!l.gradient),
          act("2\u21921", "Merge with the layer above", (x) => { x[i].nm = +(x[i].nm + x[i + 1].nm).toPrecision(12); x.splice(i + 1, 1); }, i === last || !!l.gradient || !!s.layers[i + 1].gradient),
          act("\u00d7", "Delete", (x) => x.splice(i, 1))]].filter((cell) => cell !== null);
    });
    fill(this.rows, s.layers.length ? table("Layers in order of deposition, " + figure(s.layers.reduce((sum, l) => sum + l.nm, 0), 5) + " nm in all",
      [{ words: "Layer", number: true }, "Material", "nm", ...(graded ? ["Gradient %"] : []), "Kept", { words: this.view.effect ? "1 % adds" : "", number: true }, ""], rows, { class: "stacked layer-table" }) : el("p", {}, "No layers: the bare surface."));
    if (focus) {
      const again = this.rows.querySelector("[data-place='" + focus + "']");
      if (again) again.focus();
    }
  }

  // The stack to scale; each layer's outer border is a slider.
  drawPicture() {
    const s = this.view.state, width = Math.max(260, this.picture.clientWidth || 600), height = 96, glass = 58, air = 30;
    const total = this.drag ? this.drag.total : Math.max(1, s.layers.reduce((sum, l) => sum + l.nm, 0));
    const scale = (width - glass - air) * 0.94 / total, names = [...new Set(s.layers.map((l) => l.material))];
    const focus = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.border : undefined;
    const parts = [svg("rect", { class: "glass", x: 0, y: 0, width: glass, height }), svg("text", { x: 3, y: 16 }, s.substrate.length > 6 ? s.substrate.slice(0, 5) + "\u2026" : s.substrate)];
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
    const layer = this.view.state.layers[i];
    event.preventDefault();
    this.view.remember();
    this.drag = { i, x: event.clientX, nm: layer.nm, total: Math.max(1, this.view.state.layers.reduce((sum, l) => sum + l.nm, 0)),
      perPixel: (this.picture.viewBox.baseVal.width / this.picture.getBoundingClientRect().width) / scale };
    const move = (e) => {
      layer.nm = Math.max(THINNEST, +(this.drag.nm + (e.clientX - this.drag.x) * this.drag.perPixel).toFixed(1));
      this.drawPicture();
      const typed = this.rows.querySelector("[data-place='t" + i + "']");
      if (typed) typed.value = layer.nm;
      this.view.follow();
    };
    const end = () => {
      removeEventListener("pointermove", move);
      removeEventListener("pointerup", end);
      removeEventListener("pointercancel", end);
      this.drag = null;
      this.view.effect = null;
      this.view.draw();
    };
    addEventListener("pointermove", move);
    addEventListener("pointerup", end);
    addEventListener("pointercancel", end);
  }

  nudge(event, i) {
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!by) return;
    event.preventDefault();
    this.view.change((s) => { s.layers[i].nm = Math.max(THINNEST, +(s.layers[i].nm + by * (event.shiftKey ? 0.1 : 1)).toPrecision(12)); });
  }
}
