// SPDX-License-Identifier: GPL-3.0-or-later
import { el, fill } from "./look.js";
export class InspectView {
  constructor(root) { this.root = root; }
  open() { fill(this.root, el("h1", { id: "h-inspect" }, "Inspect")); }
}
