// What else is so at the bench: cartridges given up and why, repeats that can be ordered, requests that stand aside,
// and what is out of use. Lines of words, each with at most one button.

/** @import { BenchContext } from "./context.js" */
/** @import { BenchSnapshot, ScreenCommand } from "./types.js" */
import { el, find, show } from "./dom.js";
import { clockTime, fill, ms } from "./format.js";
import { command } from "./reports.js";

export class Also {
  /**
   * @param {BenchContext} screen
   * @param {(said: ScreenCommand) => void} send
   */
  constructor(screen, send) {
    this.screen = screen;
    this.send = send;
    this.w = screen.w;
    this.list = find(screen.root, ".also-list");
    this.drawn = "";
  }

  /** @param {BenchSnapshot} snapshot */
  render(snapshot) {
    const { losses, repeats, notPlanned, means } = snapshot;
    const drawn = JSON.stringify([losses, repeats, notPlanned, means]);
    if (drawn === this.drawn) return;
    this.drawn = drawn;
    const lines = [
      ...means.outOfUse.map(o =>
        this.#line("out", this.#out(snapshot, o), this.w("AlsoBack"), () =>
          this.send(command("in-use", { at: this.screen.clock.now() }, { resource: o.resource, number: o.number })),
        ),
      ),
      ...losses.map(l => this.#line("lost", l.text)),
      ...repeats.map(r =>
        this.#line("repeat", fill(this.w("AlsoRepeat"), r.specimen, r.assay), this.w("RepeatPlan"), () =>
          this.send(command("repeat", { at: this.screen.clock.now() }, { request: r.request })),
        ),
      ),
      ...this.#aside(notPlanned),
      ...(means.intakePaused
        ? [
            this.#line("out", this.w("AlsoPaused"), this.w("MeansResume"), () =>
              this.send(command("resume-intake", { at: this.screen.clock.now() })),
            ),
          ]
        : []),
      ...(means.incubator?.outsideSince
        ? [
            this.#line(
              "lost",
              fill(
                this.w("AlsoOutside"),
                means.incubator.shows ?? "",
                means.incubator.set ?? "",
                means.incubator.tolerance ?? "",
              ),
            ),
          ]
        : []),
    ];
    this.list.replaceChildren(...lines);
    show(find(this.screen.root, ".also"), lines.length > 0);
  }

  /** Requests that wait for the same are one line. @param {BenchSnapshot["notPlanned"]} left */
  #aside(left) {
    return [...Map.groupBy(left, n => n.text)].map(([text, same]) =>
      this.#line(
        "aside",
        fill(this.w(same.length === 1 ? "AlsoAside" : "AlsoAsideMany"), same.map(n => n.specimen).join(", "), text),
      ),
    );
  }

  /**
   * @param {BenchSnapshot} snapshot
   * @param {BenchSnapshot["means"]["outOfUse"][number]} out
   */
  #out(snapshot, out) {
    const name = this.screen.taps.life.nameOf(out.resource, out.number);
    const until = ms(out.to);
    const words =
      out.resource === "hands"
        ? until === null
          ? "AlsoAway"
          : "AlsoAwayUntil"
        : until === null
          ? "AlsoOut"
          : "AlsoOutUntil";
    return (
      fill(this.w(words), name, until === null ? "" : clockTime(until, snapshot.zone)) +
      (out.why ? ` · ${out.why}` : "")
    );
  }

  /**
   * @param {string} kind
   * @param {string} text
   * @param {string} [button]
   * @param {() => void} [act]
   */
  #line(kind, text, button, act) {
    return el("li", { "data-kind": kind }, el("span", {}, text),
      ...(button ? [el("button", { type: "button", className: "side also-act", onclick: act }, button)] : []));
  }
}
