// SPDX-License-Identifier: GPL-3.0-or-later
// A design's state, as an address and as a stack file.

export const FIRST = {
  incident: "air", substrate: "517642",
  layers: [["Al2O3", 75.211], ["Ta2O5", 109.445], ["Al2O3", 29.864], ["MgF2", 75.575]].map(([material, nm]) => ({ material, nm, gradient: 0, fixed: false })),
  callouts: "Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg", aoi: [0, 30], from: 400, to: 700, step: 1, quantity: "R", back: null,
};

// A layer of the commands' JSON, or of a file that was read, as the page has it, and as the live figures ask for it.
export const layerOf = (l, fixed) => ({ material: l.material, nm: l.thickness_nm, gradient: l.index_gradient_percent || 0, fixed: !!fixed });
export const layerAsked = (l) => ({ material: l.material, thickness_nm: l.nm, index_gradient_percent: l.gradient || 0 });

export const inWords = (l) => l.material + " " + l.nm + " nm" + (l.gradient ? ", gradient " + l.gradient + " %" : "");

// MATERIAL:NM, or MATERIAL:NM:GRADIENT where the index runs through the layer.
const inAddress = (l) => l.material + ":" + l.nm + (l.gradient ? ":" + l.gradient : "");

export function address(state) {
  const p = new URLSearchParams();
  p.set("incident", state.incident);
  p.set("layers", state.layers.map((l) => inAddress(l) + (l.fixed ? "!" : "")).join(","));
  p.set("substrate", state.substrate);
  p.set("callouts", state.callouts);
  p.set("aoi", state.aoi.join(","));
  p.set("nm", [state.from, state.to, state.step].join(","));
  if (state.quantity !== "R") p.set("show", state.quantity);
  if (state.back) p.set("beside", state.back.layers.map(inAddress).join(",") + ";" + state.back.substrate);
  return "#design?" + p.toString();
}

function layersOf(words) {
  return (words || "").split(",").filter(Boolean).map((part) => {
    const [material, nm, gradient] = part.split(":");
    return { material, nm: parseFloat(nm), gradient: parseFloat(gradient) || 0, fixed: part.endsWith("!") };
  }).filter((l) => l.material && Number.isFinite(l.nm));
}

export function fromAddress(query) {
  const p = new URLSearchParams(query);
  if (!p.has("layers")) return null;
  const numbers = (name, otherwise) => {
    const list = (p.get(name) || "").split(",").map(Number);
    return p.get(name) && list.every(Number.isFinite) ? list : otherwise;
  };
  const [from, to, step] = numbers("nm", [FIRST.from, FIRST.to, FIRST.step]);
  const [beside, glass] = (p.get("beside") || "").split(";");
  return {
    incident: p.get("incident") || "air", substrate: p.get("substrate") || FIRST.substrate, layers: layersOf(p.get("layers")),
    callouts: p.get("callouts") || "", aoi: numbers("aoi", FIRST.aoi), from, to, step,
    quantity: ["T", "A"].includes(p.get("show")) ? p.get("show") : "R",
    back: beside ? { layers: layersOf(beside), substrate: glass, incident: p.get("incident") || "air" } : null,
  };
}

export function stackFile(state) {
  const graded = state.layers.some((l) => l.gradient);
  const rows = ["# made on bloomcoat's desk", ...(state.callouts || "").split("\n").map((line) => "# callouts: " + line),
    "role,material,thickness_nm,fixed" + (graded ? ",index_gradient_percent" : ""), "substrate," + state.substrate + ",," + (graded ? "," : "")];
  for (const l of state.layers) rows.push("layer," + l.material + "," + l.nm + "," + (l.fixed ? "yes" : "") + (graded ? "," + (l.gradient || 0) : ""));
  rows.push("incident," + state.incident + ",," + (graded ? "," : ""));
  return rows.join("\n") + "\n";
}

// What the desk itself wrote into a stack file beside the stack.
export const calloutsOfFile = (words) => words.split("\n").filter((l) => l.startsWith("# callouts: ")).map((l) => l.slice(12).trim()).join("\n");
