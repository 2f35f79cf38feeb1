// "Did you hear it?": asked before a batch starts, and whenever the sound button is tapped. A screen on which it was
// not heard does not count as one that can be heard.

import { el, setText } from "./dom.js";
import { open } from "./dialogs.js";

/** @import { Sounder } from "./sound.js" */

const KEY = "incubation.heard";

export class Hearing {
  /**
   * @param {Sounder} sounder
   * @param {(key: string) => string} w
   */
  constructor(sounder, w) {
    this.sounder = sounder;
    this.w = w;
  }

  /** Whether this screen sounds, as far as anybody knows. */
  get isHeard() {
    return this.sounder.isArmed && sessionStorage.getItem(KEY) !== "no";
  }

  /**
   * Sounds and asks.
   * @param {{go: string, without: string, runSheet: string|null}} says What "yes" does, what starting without sound is
   * called, and where the sheet to print is.
   * @returns {Promise<"heard"|"silent"|null>}
   */
  async ask(says) {
    const answer = await this.#open(says);
    if (answer) sessionStorage.setItem(KEY, answer === "heard" ? "yes" : "no");
    return answer;
  }

  /**
   * @param {{go: string, without: string, runSheet: string|null}} says
   * @returns {Promise<"heard"|"silent"|null>}
   */
  #open(says) {
    const { w } = this;
    return open(w, w("HearTitle"), done => {
      const text = el("p", { className: "dialog-text", role: "status" }, w("HearText"));
      const play = async () => setText(text, w((await this.sounder.sample("high")) ? "HearText" : "HearNone"));
      const side = (/** @type {string} */ label, /** @type {() => void} */ act, className = "") =>
        el("button", { type: "button", className: `side ${className}`, onclick: act }, label);
      const no = el("div", { className: "dialog-choices" },
        side(w("HearAgain"), () => void play()),
        side(w("HearNot"), () => {
          setText(text, w("HearHelp"));
          no.replaceChildren(
            side(w("HearAgain"), () => void play()),
            side(says.without, () => done("silent"), "hear-without"),
          );
        }, "hear-no"));
      void play();
      return {
        body: [
          text,
          el("button", { type: "button", className: "big hear-yes", onclick: () => done("heard") }, says.go),
          no,
          ...(says.runSheet
            ? [el("a", { className: "dialog-link", href: says.runSheet, target: "_blank" }, w("RunSheet"))]
            : []),
        ],
      };
    });
  }
}
