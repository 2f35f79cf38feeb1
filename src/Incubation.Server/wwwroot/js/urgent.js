// What is urgent and came while the batch runs: said on the bench until somebody has seen it or begun it.

/** @import { BenchContext } from "./context.js" */
/** @import { BenchSnapshot } from "./types.js" */
import { find, setText, show } from "./dom.js";

export class UrgentNews {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.news = find(screen.root, ".urgent-news");
    /** Requests that were seen on this screen. @type {Set<string>} */
    this.seen = new Set();
    /** @type {string[]} */
    this.shown = [];
    find(this.news, "button").addEventListener("click", () => {
      for (const request of this.shown) this.seen.add(request);
      show(this.news, false);
    });
  }

  /** @param {BenchSnapshot} snapshot */
  render(snapshot) {
    const urgent = (snapshot.urgent ?? []).filter(one => !this.seen.has(one.request));
    this.shown = urgent.map(one => one.request);
    setText(find(this.news, ".urgent-text"), urgent.map(one => one.text).join(" · "));
    show(this.news, urgent.length > 0);
  }
}
