// SPDX-License-Identifier: GPL-3.0-or-later
// Which view the address names.
import { el, fill } from "./look.js";
import { about } from "./talk.js";
import { DesignView } from "./design.js";
import { AskView } from "./ask.js";
import { InspectView } from "./inspect.js";
import { ShopView } from "./shop.js";

const names = ["ask", "design", "inspect", "shop"];
const titles = { ask: "Quote", design: "Design", inspect: "Inspect", shop: "Shop" };
const views = {};

function show(focus) {
  const [name, query] = location.hash.slice(1).split(/\?(.*)/s);
  const chosen = names.includes(name) ? name : "ask";
  for (const other of names) document.getElementById("view-" + other).hidden = other !== chosen;
  for (const link of document.querySelectorAll(".top nav a")) {
    const is = link.hash === "#" + chosen;
    if (is) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  document.title = titles[chosen] + " \u2013 bloomcoat";
  views[chosen].open(query || "");
  if (focus) document.getElementById("main").focus();
}

async function start() {
  const facts = await about();
  document.getElementById("where").textContent = facts.shop ? "Shop: " + facts.shop : "No shop's folder: bloomcoat desk --shop DIR";
  document.body.append(el("datalist", { id: "materials" }, facts.materials.filter((m) => !/^\d{6}$/.test(m)).map((m) => el("option", { value: m })),
    facts.glasses.concat(facts.materials.filter((m) => /^\d{6}$/.test(m) && !facts.glasses.includes(m))).map((m) => el("option", { value: m }))));
  views.design = new DesignView(document.getElementById("view-design"), facts);
  views.ask = new AskView(document.getElementById("view-ask"), facts);
  views.inspect = new InspectView(document.getElementById("view-inspect"), facts, views.design);
  views.shop = new ShopView(document.getElementById("view-shop"), facts);
  addEventListener("hashchange", () => show(true));
  show(false);
}

start().catch((error) => {
  const trouble = document.getElementById("trouble");
  trouble.textContent = "The page could not begin: " + error.message;
  trouble.hidden = false;
});
