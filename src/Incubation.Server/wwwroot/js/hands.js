// The buttons that choose whose next thing the card shows. Without a server, hands that another screen served last can
// be taken over.

/** @import { BenchContext } from "./context.js" */
import { el, find, show } from "./dom.js";
import { at, fill } from "./format.js";

export class HandsChoice {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.group = find(screen.root, ".card-hands");
  }

  /** @param {number} now */
  render(now) {
    const { screen, group } = this;
    const { w } = screen;
    const offers = screen.offers();
    const others = screen.isAlone ? screen.alone.othersHands : [];
    show(group, offers.length > 1 || others.length > 0);
    if (offers.length < 2 && others.length === 0) return;
    const shown = screen.offer();
    const lines = offers.map(o => (at(o.mayBegin) <= now ? fill(w("HandsNow"), o.handsText) : o.handsText));
    const drawn = `${lines.join()}/${shown?.hands}/${others.join()}`;
    if (group.dataset.drawn === drawn) return;
    group.dataset.drawn = drawn;
    const focused = [...group.children].indexOf(/** @type {Element} */ (document.activeElement));
    group.replaceChildren(
      ...offers.map((o, i) => this.#button(lines[i], () => screen.choose(o), o === shown)),
      ...others.map(hands => this.#button(fill(w("HandsTake"), fill(w("HandsNumber"), hands)),
        () => {
          screen.alone.take(hands);
          screen.choose(null);
        }, false)));
    if (focused >= 0) /** @type {HTMLElement|undefined} */ (group.children[focused])?.focus();
  }

  /**
   * @param {string} label
   * @param {() => void} act
   * @param {boolean} isShown
   */
  #button(label, act, isShown) {
    return el("button", {
      type: "button", className: "side", "aria-pressed": isShown,
      onclick: () => {
        act();
        this.screen.render();
      },
    }, label);
  }
}
