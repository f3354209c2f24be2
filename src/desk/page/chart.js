// SPDX-License-Identifier: GPL-3.0-or-later
// A chart of curves against wavelength, with limits, and a cursor that reads it.
import { el, svg, fill, figure } from "./look.js";

let charts = 0;
const HEIGHT = 320, LEFT = 52, RIGHT = 18, TOP = 10, BOTTOM = 40;

// Round steps, about `most` of them.
function ticks(from, to, most) {
  const rough = (to - from) / most || 1;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((s) => s >= rough * 0.999);
  const list = [];
  for (let i = Math.ceil(from / step - 1e-9); i * step <= to + 1e-9 * step; i++) list.push(i * step);
  return { step, list };
}

const decimalsOf = (step) => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));

export class Chart {
  // yName: "Reflectance (%)"
  constructor(name, yName) {
    this.yName = yName;
    this.unit = " %"; // behind a value that is read
    this.id = ++charts;
    this.readout = el("p", { class: "readout" }, "");
    this.svg = svg("svg", { class: "chart", role: "img", "aria-label": name, tabindex: 0 });
    this.key = el("ul", { class: "key" });
    this.element = el("div", {}, this.svg, this.readout, this.key);
    this.data = null;
    this.at = null;
    this.svg.addEventListener("pointermove", (e) => this.point(e));
    this.svg.addEventListener("pointerdown", (e) => this.point(e));
    this.svg.addEventListener("keydown", (e) => this.press(e));
    new ResizeObserver(() => this.draw()).observe(this.element);
  }

  // {x: [], curves: [{name, y: [], style, dots}], limits: [{from, to, level, sense, average}], top}
  show(data) {
    this.data = data;
    this.draw();
  }

  // Reflectance begins at zero; transmittance where its curves are.
  range() {
    const d = this.data;
    if (d.low) {
      const all = d.curves.flatMap((c) => c.y).concat((d.limits || []).map((l) => l.level)).filter(Number.isFinite);
      const least = Math.min(...all), most = Math.max(...all), more = Math.max(0.05 * (most - least), 0.01);
      return [Math.max(0, least - more), most + more];
    }
    let high = 0;
    for (const curve of d.curves) for (const y of curve.y) if (y !== null && y > high) high = y;
    const levels = (d.limits || []).filter((l) => l.sense === "<=").map((l) => l.level);
    if (levels.length) high = Math.min(Math.max(high, 1.15 * Math.max(...levels)), 4 * Math.max(...levels));
    return [0, high > 0 ? high * 1.05 : 1];
  }

  draw() {
    const d = this.data, width = Math.max(260, this.element.clientWidth || 600);
    if (!d || d.x.length === 0) return;
    const [low, high] = this.range(), x0 = d.x[0], x1 = d.x[d.x.length - 1];
    const X = (nm) => LEFT + (width - LEFT - RIGHT) * (x1 > x0 ? (nm - x0) / (x1 - x0) : 0.5);
    const Y = (v) => HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * ((v - low) / (high - low));
    const clip = (v) => Math.max(TOP - 1, Math.min(HEIGHT - BOTTOM, Y(v)));
    this.map = { X, x0, x1, width };
    const parts = [
      svg("defs", {}, svg("pattern", { id: "hatch-" + this.id, width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
        svg("line", { class: "hatch-line", x1: 0, y1: 0, x2: 0, y2: 7 })),
        svg("clipPath", { id: "inside-" + this.id }, svg("rect", { x: LEFT, y: TOP, width: width - LEFT - RIGHT, height: HEIGHT - TOP - BOTTOM }))),
    ];
    const xs = ticks(x0, x1, Math.max(3, Math.floor(width / 90))), ys = ticks(low, high, 6);
    for (const v of ys.list) {
      parts.push(svg("line", { class: "grid", x1: LEFT, x2: width - RIGHT, y1: Y(v), y2: Y(v) }));
      parts.push(svg("text", { x: LEFT - 6, y: Y(v) + 4, "text-anchor": "end" }, v.toFixed(decimalsOf(ys.step))));
    }
    for (const v of xs.list) {
      parts.push(svg("line", { class: "grid", x1: X(v), x2: X(v), y1: TOP, y2: HEIGHT - BOTTOM }));
      parts.push(svg("text", { x: X(v), y: HEIGHT - BOTTOM + 16, "text-anchor": "middle" }, v.toFixed(decimalsOf(xs.step))));
    }
    for (const l of d.limits || []) {
      const left = Math.max(X(l.from), LEFT), right = Math.min(X(l.to), width - RIGHT);
      if (right < left || l.level > high || l.level < low) continue;
      if (!l.average) {
        const top = l.sense === "<=" ? TOP : Y(l.level), bottom = l.sense === "<=" ? Y(l.level) : HEIGHT - BOTTOM;
        parts.push(svg("rect", { fill: "url(#hatch-" + this.id + ")", x: left, width: Math.max(2, right - left), y: top, height: Math.max(0, bottom - top) }));
      }
      parts.push(svg("line", { class: "limit", x1: left, x2: Math.max(right, left + 2), y1: Y(l.level), y2: Y(l.level), "stroke-dasharray": l.average ? "4 4" : null }));
    }
    const inside = svg("g", { "clip-path": "url(#inside-" + this.id + ")" });
    for (const curve of d.curves) {
      const xsOf = curve.x || d.x;
      if (curve.dots) {
        for (let i = 0; i < xsOf.length; i++)
          if (curve.y[i] !== null) inside.append(svg("circle", { class: "dots", cx: X(xsOf[i]).toFixed(1), cy: clip(curve.y[i]).toFixed(1), r: 1.7 }));
        continue;
      }
      let path = "", open = false;
      for (let i = 0; i < xsOf.length; i++) {
        if (curve.y[i] === null) { open = false; continue; }
        path += (open ? "L" : "M") + X(xsOf[i]).toFixed(1) + " " + Math.max(-50, Y(curve.y[i])).toFixed(1);
        open = true;
      }
      inside.append(svg("path", { class: "curve " + curve.style, d: path }));
    }
    parts.push(inside, svg("rect", { class: "frame", x: LEFT, y: TOP, width: width - LEFT - RIGHT, height: HEIGHT - TOP - BOTTOM }));
    parts.push(svg("text", { x: (LEFT + width - RIGHT) / 2, y: HEIGHT - 6, "text-anchor": "middle" }, "Wavelength (nm)"));
    parts.push(svg("text", { x: 13, y: (TOP + HEIGHT - BOTTOM) / 2, "text-anchor": "middle", transform: "rotate(-90 13 " + (TOP + HEIGHT - BOTTOM) / 2 + ")" }, this.yName));
    this.line = svg("line", { class: "cursor", y1: TOP, y2: HEIGHT - BOTTOM, visibility: "hidden" });
    parts.push(this.line);
    this.svg.setAttribute("viewBox", "0 0 " + width + " " + HEIGHT);
    this.svg.setAttribute("height", HEIGHT);
    fill(this.svg, parts);
    fill(this.key, d.curves.map((c) => el("li", {}, svg("svg", { class: "chart", width: 34, height: 10, "aria-hidden": "true", viewBox: "0 0 34 10" },
      c.dots ? svg("circle", { class: "dots", cx: 17, cy: 5, r: 2.5 }) : svg("line", { class: "curve " + c.style, x1: 0, x2: 34, y1: 5, y2: 5 })), c.name)),
      (d.limits || []).some((l) => !l.average) && el("li", {}, svg("svg", { class: "chart", width: 34, height: 10, "aria-hidden": "true", viewBox: "0 0 34 10" }, svg("line", { class: "limit", x1: 0, x2: 34, y1: 5, y2: 5 })), "limit"),
      (d.limits || []).some((l) => l.average) && el("li", {}, svg("svg", { class: "chart", width: 34, height: 10, "aria-hidden": "true", viewBox: "0 0 34 10" }, svg("line", { class: "limit", x1: 0, x2: 34, y1: 5, y2: 5, "stroke-dasharray": "4 4" })), "limit of an average"));
    this.read();
  }

  point(event) {
    if (!this.map) return;
    const box = this.svg.getBoundingClientRect();
    const place = (event.clientX - box.left) * this.map.width / box.width;
    const share = (place - LEFT) / (this.map.width - LEFT - RIGHT);
    this.at = this.map.x0 + Math.max(0, Math.min(1, share)) * (this.map.x1 - this.map.x0);
    this.read();
  }

  press(event) {
    if (!this.map || !["ArrowLeft", "ArrowRight", "Home", "End"].includes(event.key)) return;
    const { x0, x1 } = this.map, step = (event.shiftKey ? 10 : 1) * Math.max((x1 - x0) / 300, 0.1);
    const now = this.at === null ? (x0 + x1) / 2 : this.at;
    this.at = { ArrowLeft: Math.max(x0, now - step), ArrowRight: Math.min(x1, now + step), Home: x0, End: x1 }[event.key];
    event.preventDefault();
    this.read();
  }

  // What stands at the cursor: of each curve the computed point that is nearest.
  read() {
    const d = this.data;
    if (this.at === null || !d || !this.map) {
      this.readout.textContent = "Move over the picture, or use the arrow keys, to read values.";
      return;
    }
    const nearest = (xs) => xs.reduce((best, x, i) => (Math.abs(x - this.at) < Math.abs(xs[best] - this.at) ? i : best), 0);
    const points = d.x.length > 2 ? d.x : d.curves[0].x || d.x, at = points[nearest(points)];
    this.line.setAttribute("x1", this.map.X(at));
    this.line.setAttribute("x2", this.map.X(at));
    this.line.setAttribute("visibility", "visible");
    this.readout.textContent = figure(at, 5) + " nm: " + d.curves.map((c) => c.name + " " + figure(c.y[nearest(c.x || d.x)], 4) + this.unit).join("; ");
  }
}
