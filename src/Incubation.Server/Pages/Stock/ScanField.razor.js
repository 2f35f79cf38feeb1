// The field that scans go into: makes the separator visible that scanners send as a control key, and reads codes by the
// camera.

/** Shared with other pages, which lie elsewhere. */
const CAMERA = "js/camera.js";
/** Shown for the separator (FNC1), which a browser would else swallow or leave invisible. */
const SEPARATOR = "␝";

/** @param {HTMLFormElement} form */
export function attach(form) {
  return new ScanField(form);
}

class ScanField {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.input = /** @type {HTMLInputElement} */ (form.querySelector("input"));
    this.says = /** @type {HTMLElement} */ (form.querySelector(".scan-camera-says"));
    this.view = /** @type {HTMLElement} */ (form.querySelector(".scan-camera"));
    /** @type {{stop(): void}|null} */
    this.controls = null;
    this.input.addEventListener("keydown", event => this.#key(event));
    form.querySelector("[data-camera=start]")?.addEventListener("click", () => void this.#start());
    form.querySelector("[data-camera=stop]")?.addEventListener("click", () => this.#stop(""));
  }

  end() {
    this.#stop("");
  }

  /** What was not understood stays to be looked at; the next scan takes its place. */
  again() {
    this.input.focus();
    this.input.select();
  }

  /**
   * A scanner that works as a keyboard sends the separator as Ctrl+].
   * @param {KeyboardEvent} event
   */
  #key(event) {
    if (
      event.key !== "\u001d" &&
      !(event.ctrlKey && !event.altKey && (event.key === "]" || event.code === "BracketRight"))
    )
      return;
    event.preventDefault();
    this.input.setRangeText(SEPARATOR, this.input.selectionStart ?? 0, this.input.selectionEnd ?? 0, "end");
  }

  async #start() {
    if (!navigator.mediaDevices?.getUserMedia) return this.#say("none");
    this.#say("looking");
    this.view.hidden = false;
    try {
      const { BOX_CODES, decode } = await import(new URL(CAMERA, document.baseURI).href);
      this.controls = await decode(this.view.querySelector("video"), BOX_CODES, true,
        (/** @type {string} */ text) => this.#found(text));
      if (this.view.hidden) this.#stop("");
    } catch {
      this.#stop("refused");
    }
  }

  /** @param {string} text */
  #found(text) {
    if (!this.controls) return;
    this.#stop("");
    this.input.value = text.replaceAll("\u001d", SEPARATOR);
    this.input.dispatchEvent(new Event("change", { bubbles: true }));
    this.form.requestSubmit();
  }

  /** @param {""|"none"|"refused"} why */
  #stop(why) {
    this.controls?.stop();
    this.controls = null;
    this.view.hidden = true;
    this.#say(why);
  }

  /** @param {""|"looking"|"none"|"refused"} what */
  #say(what) {
    this.says.textContent = what ? (this.says.dataset[what] ?? "") : "";
  }
}
