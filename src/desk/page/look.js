// SPDX-License-Identifier: GPL-3.0-or-later
// What every view is built from. Text goes into the page as text, never as markup.

export function el(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name in element && typeof value !== "string") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  add(element, children);
  return element;
}

export function add(element, children) {
  for (const child of [children].flat(4)) {
    if (child === undefined || child === null || child === false) continue;
    element.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  return element;
}

export function fill(element, ...children) {
  element.replaceChildren();
  return add(element, children);
}

const SVG = "http://www.w3.org/2000/svg";
export function svg(tag, attributes, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, String(value));
  }
  return add(element, children);
}

// So many significant digits, without an exponent where a person would write none.
export function figure(value, digits = 4) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "\u2013";
  if (value !== 0 && (Math.abs(value) < 1e-4 || Math.abs(value) >= 1e7)) return value.toExponential(digits - 1);
  const decimals = value === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(decimals, 8));
}

let fields = 0;
// A label above its control.
export function field(words, control, hint) {
  const id = control.id || "f" + ++fields;
  control.id = id;
  const parts = [el("label", { for: id }, words), control];
  if (hint) {
    control.setAttribute("aria-describedby", id + "-hint");
    parts.push(el("p", { class: "hint", id: id + "-hint" }, hint));
  }
  return el("div", { class: "field" }, parts);
}

export function checkbox(words, checked, onchange) {
  const box = el("input", { type: "checkbox", checked: !!checked, onchange });
  return { box, label: el("label", { class: "check" }, box, words) };
}

export function button(words, onclick, attributes) {
  return el("button", { type: "button", onclick, ...attributes }, words);
}

// head: [words or {words, number}]; rows: cells of text or nodes, or {marked, cells}.
export function table(caption, head, rows, attributes) {
  const titles = head.map((h) => (typeof h === "string" ? { words: h } : h));
  return el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": caption },
    el("table", attributes,
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, titles.map((t) => el("th", { scope: "col", class: t.number && "number" }, t.words)))),
      el("tbody", {}, rows.map((row) => {
        const cells = row.cells || row;
        return el("tr", { class: row.marked && "marked" }, cells.map((cell, i) =>
          el("td", { class: titles[i].number && "number", "data-head": titles[i].words || null }, cell)));
      }))));
}

// The share of a limit, as a bar and a number: more than a colour.
export function share(used) {
  const bar = el("span", { class: used > 1 ? "share over" : "share", "aria-hidden": "true" }, el("i", {}));
  bar.firstChild.style.width = Math.min(100, Math.max(0, 100 * used)) + "%";
  return el("span", { class: "together" }, bar, figure(100 * used, 3) + " %");
}

export function verdict(kind, word, ...lines) {
  return el("div", { class: "verdict " + kind }, el("p", { class: "word" }, word), lines.flat().filter(Boolean).map((l) => el("p", {}, l)));
}

export function command(line) {
  const code = el("code", {}, line);
  const copy = button("Copy", async () => {
    try {
      await navigator.clipboard.writeText(line);
    } catch {
      const range = document.createRange();
      range.selectNodeContents(code);
      getSelection().removeAllRanges();
      getSelection().addRange(range);
    }
    copy.textContent = "Copied";
    setTimeout(() => { copy.textContent = "Copy"; }, 1500);
  }, { class: "small", "aria-label": "Copy the command line" });
  return el("details", {}, el("summary", {}, "The same at a command line"), el("div", { class: "command" }, code, copy));
}

// Give the person a file.
export function save(name, text, type = "text/csv;charset=utf-8") {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = el("a", { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}

// A file's name as the desk takes it.
export function plainName(name, others = []) {
  const dot = name.lastIndexOf(".");
  const ending = dot > 0 ? name.slice(dot).replace(/[^A-Za-z0-9.]/g, "").slice(0, 8) : "";
  let stem = (dot > 0 ? name.slice(0, dot) : name).replace(/[^A-Za-z0-9_-]+/g, "-").replace(/^[-_]+/, "").slice(0, 40) || "file";
  let result = stem + ending;
  for (let n = 2; others.includes(result); n++) result = stem + "-" + n + ending;
  return result;
}

export function today() {
  const d = new Date();
  return [d.getFullYear(), String(d.getMonth() + 1).padStart(2, "0"), String(d.getDate()).padStart(2, "0")].join("-");
}

// A value or a limit of a callout: in percent, but for a colour.
const isColour = (c) => c.limit_percent === null;
export const valueOf = (c) => (isColour(c) ? c.statistic + " " + figure(c.value, 4) : figure(c.value_percent, 4));
const ellipseOf = (e, scale) => e.centre.join(" ") + " \u00b1 " + e.half_axis.map((half) => figure(scale * half, 4)).join(" ") + (e.turn_deg === 0 ? "" : " turned " + e.turn_deg + "\u00b0");
const referenceOf = (c) => (c.reference ? " from L* " + c.reference.L + ", a* " + c.reference.a + ", b* " + c.reference.b : "");
export const limitOf = (c) => (c.ellipse ? ellipseOf(c.ellipse, c.limit) : !isColour(c) ? c.sense + " " + c.limit_percent : c.target === null ? c.sense + " " + c.limit + referenceOf(c) : c.target + " \u00b1 " + c.limit);
export const isAverage = (c) => ["average", "mean", "luminous"].includes(c.statistic);

// A callout of --json in the drawing's words; null where these do not say all of it.
export function calloutWords(row) {
  if (isColour(row) || row.weight || row.cone_weight || row.substrate || row.statistic === "luminous") return null;
  const band = row.from_nm === row.to_nm ? row.from_nm + " nm" : row.from_nm + "-" + row.to_nm + " nm";
  const angle = row.aoi_from_deg === row.aoi_to_deg ? row.aoi_from_deg + " deg" : row.aoi_from_deg + "-" + row.aoi_to_deg + " deg";
  const cone = row.cone_deg > 0 ? ", cone " + row.cone_deg + " deg" : "";
  const each = { each: "s and p" }[row.polarization] || row.polarization;
  return row.quantity + " " + row.statistic + " " + row.sense + " " + row.limit_percent + " %, " + band + ", " + angle + cone + ", " + each + ", per " + row.scope;
}
