// Who is in front of a bench screen: the name in its head, changing places by PIN, and locking. The panel stands over
// the lanes and is not modal: the next thing, its countdown and every alarm stay in view and in reach.

/** @import { BenchContext } from "./context.js" */
/** @import { PinAnswer, TabletPerson, WhoSnapshot } from "./types.js" */
import { el, find, setText, show } from "./dom.js";
import { fill } from "./format.js";

const PIN_DIGITS = 6;
const HERE_EVERY_MS = 30_000;
const PATIENCE_MS = 8000;
const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];

export class Who {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    this.button = /** @type {HTMLButtonElement} */ (find(screen.root, ".bench-who"));
    this.panel = find(screen.root, ".who-panel");
    this.hereAt = -Infinity;
    this.button.addEventListener("click", () => void this.#tapped());
    this.panel.addEventListener("keydown", e => {
      if (e.key === "Escape") this.#close();
    });
    this.touched = () => this.#here();
    addEventListener("pointerdown", this.touched);
    addEventListener("keydown", this.touched);
  }

  end() {
    removeEventListener("pointerdown", this.touched);
    removeEventListener("keydown", this.touched);
  }

  render() {
    const { who, signedOut } = this.screen.live;
    const isLocked = who?.kind === "tablet";
    show(this.button, signedOut || (who !== null && who.kind !== "program"));
    this.button.dataset.state = signedOut ? "out" : isLocked ? "locked" : "in";
    const name = who?.name ?? this.w("WhoWall");
    show(find(this.button, ".who-label"), !signedOut && !isLocked);
    setText(find(this.button, ".who-text"), signedOut ? this.w("WhoSignIn") : isLocked ? this.w("WhoLocked") : name);
    this.button.setAttribute("aria-expanded", String(!this.panel.hidden));
    this.button.disabled = !signedOut && !who?.canSwitch;
  }

  /** Tells the server that somebody is there: it locks by itself when nobody is. */
  #here() {
    if (performance.now() - this.hereAt < HERE_EVERY_MS) return;
    this.hereAt = performance.now();
    this.screen.live.here();
  }

  async #tapped() {
    if (this.screen.live.signedOut) {
      location.assign(`sign-in?to=${encodeURIComponent(location.pathname)}`);
      return;
    }
    if (!this.panel.hidden) return this.#close();
    await this.#people();
  }

  #close() {
    this.panel.replaceChildren();
    show(this.panel, false);
    this.render();
    this.button.focus();
  }

  async #people() {
    /** @type {TabletPerson[]|null} */
    const people = await ask("api/v1/tablet/people");
    const { who } = this.screen.live;
    const list = (people ?? []).map(person =>
      el("button", { type: "button", className: "side", onclick: () => this.#pin(person) }, person.name),
    );
    const lock =
      who?.kind === "person"
        ? [el("button", { type: "button", className: "side", onclick: () => void this.#lock() }, this.w("WhoLock"))]
        : [];
    const none = people === null ? this.w("WhoNoServer") : this.w("WhoNobody");
    this.#show(this.w("WhoTitle"), [
      list.length > 0 ? el("div", { className: "who-people" }, ...list) : el("p", {}, none),
      el("div", { className: "who-foot" }, ...lock, this.#closing()),
    ]);
  }

  /** @param {TabletPerson} person */
  #pin(person) {
    const fault = el("p", { className: "who-fault", role: "alert" });
    const input = /** @type {HTMLInputElement} */ (
      el("input", {
        type: "password",
        inputMode: "numeric",
        maxLength: PIN_DIGITS,
        autocomplete: "off",
        className: "who-pin",
        "aria-label": fill(this.w("WhoPin"), person.name),
      })
    );
    let busy = false;
    const typed = async () => {
      input.value = input.value.replace(/\D/g, "");
      if (input.value.length < PIN_DIGITS || busy) return;
      busy = true;
      /** @type {PinAnswer|null} */
      const answer = await ask("api/v1/tablet/pin", { person: person.id, pin: input.value });
      busy = false;
      input.value = "";
      if (answer?.done && answer.who) {
        this.screen.live.take(answer.who);
        this.#close();
      } else {
        setText(fault, answer?.sentence ?? this.w("WhoNoServer"));
        input.focus();
      }
    };
    input.addEventListener("input", () => void typed());
    const key = (/** @type {string} */ digit) => el("button", {
      type: "button", className: "side who-key", onclick: () => {
        if (input.value.length < PIN_DIGITS) input.value += digit;
        void typed();
      },
    }, digit);
    const back = el(
      "button",
      {
        type: "button",
        className: "side who-key",
        "aria-label": this.w("WhoDelete"),
        onclick: () => (input.value = input.value.slice(0, -1)),
      },
      "⌫",
    );
    this.#show(fill(this.w("WhoPin"), person.name), [
      input,
      fault,
      el("div", { className: "who-keys" }, ...KEYS.map(key), back, key("0")),
      el(
        "div",
        { className: "who-foot" },
        el("button", { type: "button", className: "side", onclick: () => void this.#people() }, this.w("WhoOther")),
        this.#closing(),
      ),
    ]);
    input.focus();
  }

  async #lock() {
    /** @type {WhoSnapshot|null} */
    const who = await ask("api/v1/tablet/lock", {});
    if (who) this.screen.live.take(who);
    this.#close();
  }

  #closing() {
    return el("button", { type: "button", className: "side", onclick: () => this.#close() }, this.w("Close"));
  }

  /**
   * @param {string} title
   * @param {Node[]} body
   */
  #show(title, body) {
    const heading = el("h2", { id: "who-title", tabIndex: -1 }, title);
    this.panel.replaceChildren(heading, ...body);
    show(this.panel, true);
    this.render();
    heading.focus();
  }
}

/**
 * Asks the server; null where it does not answer.
 * @param {string} address
 * @param {unknown} [body]
 */
async function ask(address, body) {
  try {
    const answer = await fetch(address, {
      cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
      ...(body === undefined
        ? {}
        : { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }),
    });
    if (answer.ok) return await answer.json();
    const detail = (await answer.json().catch(() => null))?.detail;
    return body !== undefined && detail ? { done: false, sentence: detail, who: null } : null;
  } catch {
    return null;
  }
}
